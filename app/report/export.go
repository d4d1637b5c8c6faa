package report

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"linerwatch/app/study"
)

// ExportTables lists the tables of an export, in order. Each is written as
// NAME.csv.
func ExportTables() []string { return []string{"hips", "films", "readings", "fits", "codebook"} }

// Export gathers the hips of a study for analysis elsewhere: one row per hip, per
// film, per reading and per number fitted. No film and no reading is left out;
// what did not count is a row that says why. A value that is not known or does not
// apply is NA. The codebook explains every column.
type Export struct {
	Whose string // reader whose readings count, or study.Anyone

	// Lacks reports whether a film's file is not where it was last; nil where nobody looks.
	Lacks func(study.Film) bool

	rows   map[string][][]string
	seen   []string         // codes that may be names
	slots  chan struct{}    // one for each hip at work
	coming []chan hipTables // of the hips added since the tables were asked for
}

// missing is the cell of a value that is not known or does not apply.
const missing = study.NotAvailable

// column is a column of a table with its line in the codebook.
type exportColumn[T any] struct {
	name, meaning, unit, values string
	cell                        func(T) string
}

func header[T any](columns []exportColumn[T]) []string {
	var out []string
	for _, c := range columns {
		out = append(out, c.name)
	}
	return out
}

func cells[T any](columns []exportColumn[T], v T) []string {
	var out []string
	for _, c := range columns {
		out = append(out, orMissing(c.cell(v)))
	}
	return out
}

func orMissing(s string) string {
	if s == "" {
		return missing
	}
	return s
}

// hipTables is what one hip adds to the tables.
type hipTables struct {
	rows  map[string][][]string
	codes []string // that may be names
}

// Add takes a hip into the export. Its models are fitted meanwhile, of as many hips at
// once as there are processors; the tables keep the order of the calls.
func (e *Export) Add(r study.Record) {
	if e.slots == nil {
		e.slots = make(chan struct{}, runtime.GOMAXPROCS(0))
	}
	ready := make(chan hipTables, 1)
	e.coming = append(e.coming, ready)
	e.slots <- struct{}{}
	go func() {
		ready <- tablesOf(r, e.Whose, e.Lacks)
		<-e.slots
	}()
}

// settle waits for the hips that were added.
func (e *Export) settle() {
	if e.rows == nil {
		e.rows = map[string][][]string{}
	}
	for _, ready := range e.coming {
		t := <-ready
		for table, rows := range t.rows {
			e.rows[table] = append(e.rows[table], rows...)
		}
		for _, code := range t.codes {
			if !slices.Contains(e.seen, code) {
				e.seen = append(e.seen, code)
			}
		}
	}
	e.coming = nil
}

// Wait takes a film into the export that is of no hip yet.
func (e *Export) Wait(f study.Film) {
	ready := make(chan hipTables, 1)
	e.coming = append(e.coming, ready)
	stands := f.Standing()
	var h hipRow
	h.err = errOfNoHip
	entry := study.FilmEntry{Film: f, State: study.FilmUnread}
	row := readingRow{hipRow: h, row: rowNone, stands: stands, entry: entry}
	row.FilmID, row.Reason = f.ID, f.Reason
	t := hipTables{rows: map[string][][]string{
		"films":    {cells(exportFilmColumns, filmRow{h, entry, 0, stands, f.Reason, e.Lacks})},
		"readings": {cells(readingColumns, row)},
	}}
	if study.LooksLikeName(f.Facts.Patient) {
		t.codes = append(t.codes, f.Facts.Patient)
	}
	ready <- t
}

var errOfNoHip = errors.New("report: the film is of no hip")

func tablesOf(r study.Record, whose string, lacks func(study.Film) bool) hipTables {
	t := hipTables{rows: map[string][][]string{}}
	add := func(table string, row []string) { t.rows[table] = append(t.rows[table], row) }
	h := newHipRow(r, whose)
	add("hips", cells(hipColumns, h))
	for i, f := range h.entries {
		stands, why := h.StandingOf(f)
		add("films", cells(exportFilmColumns, filmRow{h, f, i + 1, stands, why, lacks}))
		if study.LooksLikeName(f.Facts.Patient) {
			t.codes = append(t.codes, f.Facts.Patient)
		}
	}
	for _, g := range readingRows(h) {
		add("readings", cells(readingColumns, g))
	}
	for _, q := range fitRows(h) {
		add("fits", cells(fitColumnsExport, q))
	}
	for _, code := range append([]string{r.Hip.Patient, r.Hip.ID, r.Hip.Group}, r.Readers()...) {
		if study.LooksLikeName(code) {
			t.codes = append(t.codes, code)
		}
	}
	return t
}

// Names returns codes of the export that look like somebody's name. A study is
// given codes only; look at these before the tables leave the house.
func (e *Export) Names() []string {
	e.settle()
	return e.seen
}

// Len returns the number of rows of a table, without its header.
func (e *Export) Len(table string) int {
	e.settle()
	return len(e.rows[table])
}

// Write writes a table as CSV.
func (e *Export) Write(w io.Writer, table string) error {
	e.settle()
	var head []string
	switch table {
	case "hips":
		head = header(hipColumns)
	case "films":
		head = header(exportFilmColumns)
	case "readings":
		head = header(readingColumns)
	case "fits":
		head = header(fitColumnsExport)
	case "codebook":
		return writeCSV(w, codebook())
	default:
		return fmt.Errorf("report: no table %q in an export", table)
	}
	return writeCSV(w, append([][]string{head}, e.rows[table]...))
}

// codebook explains every column of every table.
func codebook() [][]string {
	out := [][]string{{"table", "column", "meaning", "unit", "values", "missing"}}
	out = append(out, bookOf("hips", hipColumns)...)
	out = append(out, bookOf("films", exportFilmColumns)...)
	out = append(out, bookOf("readings", readingColumns)...)
	return append(out, bookOf("fits", fitColumnsExport)...)
}

func bookOf[T any](table string, columns []exportColumn[T]) (out [][]string) {
	for _, c := range columns {
		out = append(out, []string{table, c.name, c.meaning, orNone(c.unit), c.values, missing})
	}
	return out
}

func orNone(unit string) string {
	if unit == "" {
		return "none"
	}
	return unit
}

// The cells of kinds of values.
func textCell(s string) string { return strings.Join(strings.Fields(s), " ") }

func numberCell(v float64) string { return num(v).cell() }

// known is a number of which 0 means that it is not known.
func known(v float64) string {
	if v == 0 {
		return ""
	}
	return numberCell(v)
}

func wholeCell(n int) string { return strconv.Itoa(n) }

func yes(b bool) string {
	if b {
		return "1"
	}
	return "0"
}

func when(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339)
}

const (
	dateValues = "YYYY-MM-DD"
	yesValues  = "0 no, 1 yes"
	anyNumber  = "number"
	aCount     = "whole number from 0"
	aText      = "text"
	aCode      = "code"
)

// choices writes the codes that a column may hold.
func choices(list []study.Choice) string {
	var out []string
	for _, c := range list {
		out = append(out, c.Code+" "+c.Words)
	}
	return strings.Join(out, "; ")
}
