package roster

import (
	"errors"
	"slices"
	"strings"
	"time"

	"linerwatch/app/study"
)

// CellError names a cell that cannot be used.
type CellError struct {
	File   string
	Line   int
	Column string
	Value  string
	Why    study.Note
}

func (e *CellError) Error() string { return "roster: " + e.Says().String() }

// Says names the cell.
func (e *CellError) Says() study.Note {
	return study.Note{Code: "cell.fault", Values: study.Values{"File": e.File, "Line": float64(e.Line), "Column": e.Column, "Value": e.Value, "Why": e.Why}}
}

// Entry is one row that was read, each of its cells by itself.
type Entry struct {
	Line  int
	row   Row
	of    *Mapping
	order DateOrder
}

// Read reads every row of the sheet. bad are all cells that hold no value of their field.
func (m *Mapping) Read(order DateOrder) (list []Entry, bad []*CellError) {
	for _, r := range m.Rows {
		e := Entry{r.Line, r, m, order}
		_, faults := e.onto(Subject{})
		bad = append(bad, faults...)
		list = append(list, e)
	}
	return list, bad
}

// Subject returns what the row tells by itself.
func (e Entry) Subject() Subject { return e.Onto(Subject{}) }

// Onto returns s with what the row tells; of empty cells s stays as it is.
func (e Entry) Onto(s Subject) Subject {
	s, _ = e.onto(s)
	return s
}

func (e Entry) onto(s Subject) (Subject, []*CellError) {
	var bad []*CellError
	for i, c := range e.of.Columns {
		cell := e.row.Cells[i]
		why := cell.Fault
		switch {
		case c.Field == nil && c.Variable == nil && why.Code != beyond, cell.empty():
			continue
		case !why.IsZero():
		case c.Field != nil:
			why = c.Field.put(&s, cell.Text, e.order)
		default:
			var v study.Value
			if v, why = ValueOf(*c.Variable, cell.Text, e.order); why.IsZero() {
				s.Values = append(s.Values, v)
			}
		}
		if !why.IsZero() {
			bad = append(bad, e.fault(i, why))
		}
	}
	s.Hip.Site, s.Hip.Patient = s.Patient.Site, s.Patient.Code
	return s, bad
}

// File is the name of the row's table.
func (e Entry) File() string { return e.of.File }

// fault is what is wrong with a column's cell.
func (e Entry) fault(i int, why study.Note) *CellError {
	return &CellError{e.of.File, e.Line, e.of.Columns[i].Name, e.row.Cells[i].Text, why}
}

// Fault is what is wrong with the row's cell of a field, which need not be in the sheet.
func (e Entry) Fault(field string, why study.Note) *CellError {
	i := slices.IndexFunc(e.of.Columns, func(c Column) bool { return c.Field != nil && c.Field.Name == field })
	if i >= 0 {
		return e.fault(i, why)
	}
	return &CellError{e.of.File, e.Line, field, "", why}
}

// Faults are those of an error of study's Validate, each at its column; nil for nil.
func (e Entry) Faults(err error, fields []Field) (bad []*CellError) {
	var no *study.FaultsError
	if !errors.As(err, &no) {
		return nil
	}
	for _, f := range no.Faults {
		name := f.Field
		if i := slices.IndexFunc(fields, func(g Field) bool { return g.Fault == f.Field }); i >= 0 {
			name = fields[i].Name
		}
		bad = append(bad, e.Fault(name, f.Why))
	}
	return bad
}

// ValueOf reads a variable's value as the study writes it; an empty text is for one that is
// not known.
func ValueOf(v study.Variable, text string, order DateOrder) (study.Value, study.Note) {
	if text == "" {
		return study.Value{Of: v.Of, Name: v.Name}, study.Note{}
	}
	switch v.Type {
	case study.Number:
		if _, ok := study.ParseNumber(text); ok {
			text = strings.Replace(text, ",", ".", 1)
		}
	case study.YesNo:
		if code, ok := choose([]string{study.Yes, study.No}, text); ok {
			text = code
		}
	case study.Date:
		day, why := date(text, order)
		if !why.IsZero() {
			return study.Value{}, why
		}
		text = day.Format(time.DateOnly)
	}
	if err := v.Check(text); err != nil {
		return study.Value{}, study.NoteOf(err)
	}
	return study.Value{Of: v.Of, Name: v.Name, Text: text}, study.Note{}
}
