package roster

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// mostBytes is what a table may have: some 100,000 rows of 100 columns.
const mostBytes = 128 << 20

// Sheet is a table as it stands in its file.
type Sheet struct {
	File    string // its name, without folders
	Columns []string
	Rows    []Row        // without those that are empty
	Notes   []study.Note // what was done to read it
}

// Row is one row of a sheet. Cells are as many as the sheet has columns.
type Row struct {
	Line  int // in the file, counted from 1
	Cells []Cell
}

// Cell is one cell, without space around it. A number is written with a point, a date as
// 2004-05-31 where the file tells that it is one.
type Cell struct {
	Text  string
	Fault study.Note // why the file has no value for it
}

func (c Cell) empty() bool { return c.Text == "" && c.Fault.IsZero() }

// Open reads a table from a file. The format is told by content, the header is the first row
// that is not empty. The error is for a table that cannot be read as a whole.
func Open(path string) (*Sheet, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, err
	case info.Size() > mostBytes:
		return nil, sheetFault(path, study.Note{Code: "sheet.large", Values: study.Values{"MB": float64(mostBytes >> 20)}})
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	s := &Sheet{File: filepath.Base(path)}
	switch {
	case bytes.HasPrefix(b, []byte("PK\x03\x04")):
		err = s.readXLSX(b)
	case bytes.HasPrefix(b, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")): // compound file: XLS, or a workbook with a password
		err = study.NewError("sheet.compound", nil)
	default:
		err = s.readCSV(b)
	}
	if err == nil {
		err = s.checkHeader()
	}
	if err != nil {
		return nil, sheetFault(path, study.NoteOf(err))
	}
	return s, nil
}

// sheetFault is the error of a table, with its file's name.
func sheetFault(path string, why study.Note) error {
	return study.NewError("sheet.fault", study.Values{"File": filepath.Base(path), "Why": why})
}

// beyond is the code of a row that is longer than the header.
const beyond = "cell.excess"

// take adds a row; the first is the header. Cells beyond the header's are a fault of the
// row's last cell, so that nothing shifts unseen.
func (s *Sheet) take(line int, cells []Cell) {
	for i := range cells {
		cells[i].Text = strings.TrimSpace(cells[i].Text)
	}
	full := len(cells)
	for full > 0 && cells[full-1].empty() {
		full--
	}
	if cells = cells[:full]; full == 0 {
		return
	}
	if s.Columns == nil {
		for _, c := range cells {
			s.Columns = append(s.Columns, c.Text)
		}
		return
	}
	if full > len(s.Columns) {
		cells = cells[:len(s.Columns)]
		cells[len(cells)-1].Fault = study.Note{Code: beyond, Values: study.Values{"N": float64(full), "Header": float64(len(s.Columns))}}
	}
	s.Rows = append(s.Rows, Row{line, append(cells, make([]Cell, len(s.Columns)-len(cells))...)})
}

// checkHeader refuses a header that does not tell the columns apart.
func (s *Sheet) checkHeader() error {
	if len(s.Columns) == 0 {
		return study.NewError("table.empty", nil)
	}
	if len(s.Rows) == 0 {
		return study.NewError("table.no-rows", nil)
	}
	seen := map[string]bool{}
	for i, c := range s.Columns {
		switch {
		case c == "" && s.blank(i):
		case c == "":
			return study.NewError("sheet.unnamed", study.Values{"N": float64(i + 1)})
		case seen[strings.ToLower(c)]:
			return study.NewError("table.twice", study.Values{"Column": c})
		}
		seen[strings.ToLower(c)] = true
	}
	return nil
}

// Has reports whether the sheet has a column of a name.
func (s *Sheet) Has(column string) bool {
	return slices.ContainsFunc(s.Columns, func(c string) bool { return strings.EqualFold(c, column) })
}

// blank reports whether a column has no cell with something in it.
func (s *Sheet) blank(i int) bool {
	for _, r := range s.Rows {
		if !r.Cells[i].empty() {
			return false
		}
	}
	return true
}
