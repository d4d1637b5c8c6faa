package roster

import (
	"bytes"
	"errors"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"linerwatch/app/study"
)

// readXLSX reads the first sheet of a workbook that has something in it (ECMA-376). Numbers
// are taken as they are kept, not as they are shown; a date is one by its cell's format.
func (s *Sheet) readXLSX(b []byte) (err error) {
	book, err := excelize.OpenReader(bytes.NewReader(b), excelize.Options{RawCellValue: true, UnzipSizeLimit: 4 * mostBytes, UnzipXMLSizeLimit: mostBytes})
	if err != nil {
		return study.WrapError(err, "sheet.workbook", nil)
	}
	defer func() { err = errors.Join(err, book.Close()) }()
	w := workbook{File: book, dates: map[int]bool{}}
	if p, err := book.GetWorkbookProps(); err == nil && p.Date1904 != nil {
		w.from1904 = *p.Date1904
	}
	var more []string
	for _, name := range book.GetSheetList() {
		if len(s.Columns) > 0 {
			if rows, err := book.GetRows(name); err == nil && len(rows) > 0 {
				more = append(more, name)
			}
			continue
		}
		if err := w.read(s, name); err != nil {
			return study.WrapError(err, "sheet.workbook", nil)
		}
		if len(s.Columns) > 0 {
			s.Notes = append(s.Notes, study.Note{Code: "sheet.read", Values: study.Values{"File": s.File, "Sheet": name}})
		}
	}
	if len(more) > 0 {
		s.Notes = append(s.Notes, study.Note{Code: "sheet.others", Values: study.Values{"File": s.File, "Sheets": strings.Join(more, ", ")}})
	}
	return nil
}

// workbook is an open one.
type workbook struct {
	*excelize.File
	from1904 bool         // days are counted from 1904
	dates    map[int]bool // styles that show a date, as far as looked at
}

func (w workbook) read(s *Sheet, name string) error {
	rows, err := w.Rows(name)
	if err != nil {
		return err
	}
	for line := 1; rows.Next(); line++ {
		fields, err := rows.Columns()
		if err != nil {
			return err
		}
		cells := make([]Cell, len(fields))
		for i, text := range fields {
			at, err := excelize.CoordinatesToCellName(i+1, line)
			if err != nil {
				return err
			}
			if cells[i], err = w.cell(name, at, text); err != nil {
				return err
			}
		}
		s.take(line, cells)
	}
	return errors.Join(rows.Error(), rows.Close())
}

// cell reads one cell, of which text is what the file holds.
func (w workbook) cell(sheet, at, text string) (Cell, error) {
	kind, err := w.GetCellType(sheet, at)
	if err != nil {
		return Cell{}, err
	}
	switch kind {
	case excelize.CellTypeError:
		return Cell{Text: text, Fault: study.Note{Code: "cell.error"}}, nil
	case excelize.CellTypeBool:
		return Cell{Text: map[string]string{"1": study.Yes, "TRUE": study.Yes}[text]}.or(study.No), nil
	case excelize.CellTypeUnset, excelize.CellTypeNumber, excelize.CellTypeDate, excelize.CellTypeFormula:
	default:
		return Cell{Text: text}, nil
	}
	if formula, err := w.GetCellFormula(sheet, at); err != nil {
		return Cell{}, err
	} else if formula != "" && text == "" {
		return Cell{Text: "=" + formula, Fault: study.Note{Code: "cell.uncomputed"}}, nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return Cell{Text: text}, nil
	}
	style, err := w.GetCellStyle(sheet, at)
	if err != nil {
		return Cell{}, err
	}
	if w.dated(style) {
		day, err := excelize.ExcelDateToTime(v, w.from1904)
		if err != nil {
			return Cell{Text: text, Fault: study.Note{Code: "cell.date"}}, nil
		}
		return Cell{Text: day.Format(time.DateOnly)}, nil
	}
	return Cell{Text: strconv.FormatFloat(v, 'f', -1, 64)}, nil
}

func (c Cell) or(text string) Cell {
	if c.Text == "" {
		c.Text = text
	}
	return c
}

// dated reports whether a style shows a number as a date (ECMA-376 part 1, 18.8.30).
func (w workbook) dated(style int) bool {
	is, ok := w.dates[style]
	if !ok {
		if st, err := w.GetStyle(style); err == nil {
			is = st.NumFmt >= 14 && st.NumFmt <= 17 || st.NumFmt == 22 || st.NumFmt >= 27 && st.NumFmt <= 36 || st.NumFmt >= 50 && st.NumFmt <= 58 ||
				st.CustomNumFmt != nil && shownDate(*st.CustomNumFmt)
		}
		w.dates[style] = is
	}
	return is
}

// shownDate reports whether a number format has a year or a day outside quotes and brackets.
func shownDate(format string) bool {
	quoted, bracket, escaped := false, false, false
	for _, c := range strings.ToLower(format) {
		switch {
		case escaped:
			escaped = false
		case c == '\\':
			escaped = true
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[', c == ']':
			bracket = c == '['
		case !bracket && (c == 'y' || c == 'd'):
			return true
		}
	}
	return false
}
