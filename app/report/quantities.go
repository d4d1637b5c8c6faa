package report

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

type quantityJSON struct {
	Of    *string `json:"of"`
	Model string  `json:"model"`
	Name  string  `json:"quantity"`
	Unit  *string `json:"unit"`
	Value num     `json:"value"`
	SE    num     `json:"se"`
	DF    num     `json:"df"`
	Lo    num     `json:"lo95"`
	Hi    num     `json:"hi95"`
	Open  bool    `json:"open"`
	P     num     `json:"p"`
	Note  *string `json:"note"`
	By    *string `json:"convention"`
}

func quantityOf(q study.Quantity) quantityJSON {
	out := quantityJSON{text(q.Of), q.Model, q.Name, text(q.Unit), num(q.Value), positive(q.SE), positive(q.DF), none, none, false, none, text(study.NoteWords(q.Note)), text(string(q.By))}
	if q.HasInterval {
		out.Lo, out.Hi = num(q.Interval.Lo), num(q.Interval.Hi)
		out.Open = !out.Lo.exists() || !out.Hi.exists()
	}
	if q.HasP {
		out.P = num(q.P)
	}
	return out
}

// Quantities writes one object or row for each quantity. In JSON and CSV an open
// end of an interval is missing and "open" is true, and "convention" is a code; the table
// has a line below it for each.
func Quantities(w io.Writer, format Format, list []study.Quantity) error {
	q := NewQuantities(w, format)
	return errors.Join(q.Add(list), q.Close())
}

// QuantityWriter writes quantities as Quantities does, some at a time, and holds few of
// them. A table for people has the widths of its first rows, which wider cells stretch,
// and a column of conventions where these have some.
type QuantityWriter struct {
	to          *bufio.Writer
	format      Format
	csv         csvWriter
	rows        []study.Quantity // of the table, not written yet
	grid        *grid            // nil until the first are
	conventions bool             // the grid has a column of them
	told        map[study.Convention]bool
	lines       []string // on those that were used
	some        bool
}

// gridRows are so many rows that a table's columns are as wide as they need.
const gridRows = 5000

// NewQuantities returns a writer to w, which Close ends.
func NewQuantities(w io.Writer, format Format) *QuantityWriter {
	q := &QuantityWriter{to: bufio.NewWriter(w), format: format, told: map[study.Convention]bool{"": true}}
	if format == CSV {
		q.csv = newCSV(q.to)
	}
	return q
}

// Add writes some quantities.
func (q *QuantityWriter) Add(list []study.Quantity) error {
	for _, v := range list {
		var err error
		switch q.format {
		case JSON:
			err = q.object(quantityOf(v))
		case CSV:
			err = q.row(v)
		default:
			if q.rows = append(q.rows, v); len(q.rows) == gridRows {
				err = q.flush()
			}
		}
		if err != nil {
			return err
		}
		q.some = true
	}
	return nil
}

// flush writes the rows of the table that wait.
func (q *QuantityWriter) flush() error {
	for _, v := range q.rows {
		if !q.told[v.By] {
			q.told[v.By] = true
			q.lines = append(q.lines, fmt.Sprintf("%s: %s", v.By, v.By.Words()))
		}
	}
	if q.grid == nil {
		head := []string{"<of", "<model", "<quantity", "<value (95 %)", "p", "<note"}
		if q.conventions = q.lines != nil; q.conventions {
			head = slices.Insert(head, 5, "<by")
		}
		q.grid = newGrid(head...)
	}
	for _, v := range q.rows {
		p := ""
		if v.HasP {
			p = probability(v.P)
		}
		cells := []string{v.Of, v.Model, v.Name, quantityText(v), p, study.NoteWords(v.Note)}
		if q.conventions {
			cells = slices.Insert(cells, 5, string(v.By))
		}
		q.grid.add(cells...)
	}
	q.rows = q.rows[:0]
	return q.grid.write(q.to)
}

// object is one of the list of JSON.
func (q *QuantityWriter) object(v quantityJSON) error {
	before := "[\n  "
	if q.some {
		before = ",\n  "
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("  ", "  ")
	if err := e.Encode(v); err != nil {
		return err
	}
	_, err := fmt.Fprint(q.to, before, strings.TrimSuffix(b.String(), "\n"))
	return err
}

var quantityColumns = []string{"of", "model", "quantity", "unit", "value", "se", "df", "lo95", "hi95", "open", "p", "note", "convention"}

func (q *QuantityWriter) row(v study.Quantity) error {
	if !q.some {
		if err := q.csv.row(quantityColumns); err != nil {
			return err
		}
	}
	j := quantityOf(v)
	return q.csv.row([]string{v.Of, v.Model, v.Name, v.Unit, j.Value.cell(), j.SE.cell(), j.DF.cell(),
		j.Lo.cell(), j.Hi.cell(), strconv.FormatBool(j.Open), j.P.cell(), study.NoteWords(v.Note), string(v.By)})
}

// Close writes what is left.
func (q *QuantityWriter) Close() error {
	var err error
	switch q.format {
	case JSON:
		end := "\n]\n"
		if !q.some {
			end = "[]\n"
		}
		_, err = q.to.WriteString(end)
	case CSV:
		if !q.some {
			err = q.csv.row(quantityColumns)
		}
		err = errors.Join(err, q.csv.flush())
	default:
		err = q.flush()
		if q.lines != nil {
			q.lines = append(q.lines, "")
		}
		err = errors.Join(err, writeLines(q.to, append(append([]string{""}, q.lines...), Caution())...))
	}
	return errors.Join(err, q.to.Flush())
}

// quantityText rounds to what the interval supports.
func quantityText(q study.Quantity) string {
	if !q.Exists() {
		return "-"
	}
	unit := ""
	if q.Unit != "" {
		unit = " " + q.Unit
	}
	if !q.HasInterval {
		if q.Value == math.Trunc(q.Value) && q.Unit == "" {
			return fmt.Sprintf("%.0f", q.Value)
		}
		return column{3}.value(q.Value) + unit
	}
	lo, hi := num(q.Interval.Lo), num(q.Interval.Hi)
	c := column{3}
	if lo.exists() && hi.exists() && hi > lo {
		c = column{Decimals(float64(hi-lo) / 4)}
	}
	end := func(n num) string {
		if !n.exists() {
			return "open"
		}
		return c.value(float64(n))
	}
	return fmt.Sprintf("%s (%s to %s)%s", c.value(q.Value), end(lo), end(hi), unit)
}

// probability writes p with three decimals.
func probability(p float64) string {
	if p < 0.001 {
		return "<0.001"
	}
	return column{3}.value(p)
}
