package tables

import (
	"bufio"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

// RowError names a cell of a table that cannot be used.
type RowError struct {
	Line   int
	Column string
	Hip    string // empty where the row names none
	Why    study.Note
}

func (e *RowError) Error() string {
	return fmt.Sprintf("tables: line %d, column %s: %s", e.Line, e.Column, e.Why)
}

// Says names the cell.
func (e *RowError) Says() study.Note {
	return note("table.row", study.Values{"Line": float64(e.Line), "Column": e.Column, "Why": e.Why})
}

func note(code string, v study.Values) study.Note { return study.Note{Code: code, Values: v} }

// empty is what is wrong with a cell that must not be.
var empty = note("cell.empty", nil)

// Rates reads a table with the columns hip, years, penetration_mm and, where
// known, se_mm, se_baseline_mm and se_scale, and fits a line to each hip's rows at or after startYears, as
// study.NewHipRate does. Hips come in the order of their first row. A hip with a bad
// row is not fitted; its Reason and bad name the rows. The error is for a table that
// cannot be read at all.
//
// Rows whose penetration is NA, such as those of films that nobody has read, are passed
// over, as are readings in a study's export that do not count there, and a warning or the Reason of their hip says so. An se_mm that is empty or NA
// is not known. A byte-order mark is passed over. Columns separated by semicolons, with
// decimal commas, are read where the header has semicolons. names are those of columns
// that are called otherwise; nil for none.
func Rates(r io.Reader, names Columns, startYears float64) (rates []study.HipRate, bad []*RowError, err error) {
	t, err := openTable(r, rateColumns, append(slices.Clone(errorColumns), "patient"), names)
	if err != nil {
		return nil, nil, err
	}
	g, err := gather(t, func(p study.Point) (study.Point, *RowError) { return p, nil })
	if err != nil {
		return nil, nil, err
	}
	for _, hip := range append(slices.Clone(t.unread.order), t.aside.order...) {
		if _, ok := g.number[hip]; !ok {
			g.add(hip)
		}
	}
	if len(g.hips) == 0 && len(g.bad) == 0 {
		return nil, nil, errNoRows
	}
	err = inOrder(len(g.hips), func(i int) study.HipRate {
		return t.rate(g.hips[i], g.rows(i), g.spoilt[g.hips[i]], startYears)
	}, func(r study.HipRate) error {
		rates = append(rates, r)
		return nil
	})
	return rates, g.bad, err
}

// table reads rows by column name.
type table struct {
	csv          *csv.Reader
	column       map[string]int
	width        int // cells of the header
	names        Columns
	decimalComma bool
	offsets      bool      // of head from cup stand where penetrations do
	numbers      []string  // further columns of numbers
	values       []float64 // of those in the row
	line         int
	cells        []string   // of the row
	excess       study.Note // what is wrong with a row of too many cells
	hips         hips
	of           *hip   // of the row
	unread       counts // rows without a reading, by hip
	counts       int    // the column that says whether a reading of an export counts; -1 where there is none
	aside        counts // rows of those that do not, by hip
	left         counts // rows of which a column by which they are compared is NA, by column
}

// counts are numbers by hip, in the order of first use.
type counts struct {
	order []string
	of    map[string]int
}

func (c *counts) add(hip string) {
	if c.of[hip]++; c.of[hip] == 1 {
		c.order = append(c.order, hip)
	}
}

// notKnown stands in a table for what is not known.
const notKnown = "NA"

// tellUnread says of the hip called id how many of its rows were passed over.
func (t *table) tellUnread(id string, r study.HipRate) study.HipRate {
	n, aside := t.unread.of[id], t.aside.of[id]
	switch {
	case n > 0 && aside == 0 && r.N == 0:
		r.Reason = note("rate.all-na", nil)
	case aside > 0 && r.N == 0:
		r.Reason = note("table.all-aside", nil)
	case n > 0:
		r.Warnings = append(r.Warnings, note("rate.na", study.Values{"N": float64(n), "Of": float64(n + r.N)}))
	}
	if aside > 0 && r.N > 0 {
		r.Warnings = append(r.Warnings, note("table.aside", study.Values{"N": float64(aside)}))
	}
	return r
}

// Columns are the table's own names of columns, by the names used here.
type Columns map[string]string

// named returns the table's own name of a column.
func (c Columns) named(name string) string {
	if own, ok := c[name]; ok && own != "" {
		return own
	}
	return name
}

func (c Columns) all(list []string) []string {
	out := make([]string, len(list))
	for i, n := range list {
		out[i] = c.named(n)
	}
	return out
}

// openTable reads a header that must name the columns of need and may name
// those of also; a column of also that was given a name of its own must be
// there.
func openTable(r io.Reader, need, also []string, names Columns) (*table, error) {
	t, header, err := openHeader(r)
	if err != nil {
		return nil, err
	}
	if isExport(header) {
		t.counts = slices.Index(header, "counts")
	}
	return t, t.find(header, need, also, names)
}

// openHeader reads the header of a table.
func openHeader(r io.Reader) (t *table, names []string, err error) {
	b := bufio.NewReader(r)
	if mark, err := b.Peek(3); err == nil && string(mark) == "\ufeff" {
		if _, err := b.Discard(3); err != nil {
			return nil, nil, err
		}
	}
	t = &table{column: map[string]int{}, hips: newHips(), unread: counts{of: map[string]int{}}, counts: -1, aside: counts{of: map[string]int{}}, left: counts{of: map[string]int{}}}
	first, err := b.Peek(b.Size())
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, nil, err
	}
	header, _, _ := strings.Cut(string(first), "\n")
	t.csv = csv.NewReader(b)
	t.csv.FieldsPerRecord, t.csv.ReuseRecord = -1, true
	if strings.HasPrefix(header, "\xff\xfe") || strings.HasPrefix(header, "\xfe\xff") {
		return nil, nil, study.NewError("table.utf16", nil)
	}
	for _, comma := range ";\t" {
		if strings.ContainsRune(header, comma) && !strings.Contains(header, ",") {
			t.csv.Comma, t.decimalComma = comma, true
			break
		}
	}
	names, err = t.csv.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil, study.NewError("table.empty", nil)
	}
	if err != nil {
		return nil, nil, tableError(err)
	}
	names = slices.Clone(names)
	for i, name := range names {
		names[i] = unguarded(name)
	}
	return t, names, nil
}

// unguarded is a cell as it was before it was guarded against spreadsheets; a text that
// looks like a missing value stays apart from one.
func unguarded(cell string) string {
	if s := study.UnguardCell(cell); s != notKnown {
		return s
	}
	return cell
}

// ColumnError says that a table has no column of a name, which it has, and which it needs.
type ColumnError struct {
	Name  string
	There []string
	Help  study.Note
}

// Error implements error.
func (e *ColumnError) Error() string { return fmt.Sprintf("tables: no column %s; %s", e.Name, e.Help) }

// Says names the column.
func (e *ColumnError) Says() study.Note {
	return note("table.no-column", study.Values{"Column": e.Name, "There": strings.Join(e.There, ", "), "Header": e.Help})
}

// find looks for the columns in the header.
func (t *table) find(cells, need, also []string, names Columns) error {
	t.names, t.width = names, len(cells)
	at := map[string]int{}
	twice := map[string]bool{}
	for i, n := range cells {
		n = strings.ToLower(strings.TrimSpace(n))
		_, had := at[n]
		at[n], twice[n] = i, had
	}
	if names = t.offsetIn(at, names); names == nil {
		return study.NewError("table.offset", nil)
	}
	for i, n := range append(slices.Clone(need), also...) {
		own := names.named(n)
		k, ok := at[strings.ToLower(own)]
		if twice[strings.ToLower(own)] {
			return study.NewError("table.twice", study.Values{"Column": own})
		}
		if ok {
			t.column[n] = k
			continue
		}
		if i < len(need) || own != n {
			return &ColumnError{own, slices.Clone(cells), headerHelp(need, also, names)}
		}
	}
	return nil
}

// offsetIn has offsets read in place of penetrations, where the table has a column of them,
// offset_mm or as it is named. A table is named one of the two: nil for both.
func (t *table) offsetIn(at map[string]int, names Columns) Columns {
	_, penetration := at["penetration_mm"]
	_, offset := at["offset_mm"]
	own := names["offset_mm"]
	switch {
	case own != "" && names["penetration_mm"] != "":
		return nil
	case own == "" && (!offset || penetration || names["penetration_mm"] != ""):
		if names == nil {
			return Columns{}
		}
		return names
	}
	t.offsets = true
	out := Columns{}
	maps.Copy(out, names)
	delete(out, "offset_mm")
	out["penetration_mm"] = cmp.Or(own, "offset_mm")
	t.names = out
	return out
}

func headerHelp(need, also []string, names Columns) study.Note {
	need = names.all(need)
	also = slices.DeleteFunc(slices.Clone(also), func(n string) bool { return names.named(n) != n }) // those are asked for, not offered
	last := len(need) - 1
	return note("table.header", study.Values{"Need": strings.Join(need[:last], ", "), "Last": need[last], "Also": strings.Join(also, ", ")})
}

var rateColumns = []string{"hip", "years", "penetration_mm"}

// errorColumns are the standard errors of the penetrations, the part of them that is the
// baseline film's, and the relative one of the scale.
var errorColumns = []string{"se_mm", "se_baseline_mm", "se_scale"}

// tableError puts an error of the CSV reader in words.
func tableError(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return fmt.Errorf("line %d, byte %d: %w", p.Line, p.Column, p.Err)
	}
	return err
}

// next reads a row that has a reading. hip is empty where the row names none, fault is set where a
// cell cannot be used.
func (t *table) next() (hip string, p study.Point, fault *RowError, err error) {
	return t.nextWith(nil)
}

// nextWith is next that also keeps the cells of other columns; one that the
// table was said to have must not be empty. A row that repeats another is passed over.
func (t *table) nextWith(extra map[string]string, more ...string) (hip string, p study.Point, fault *RowError, err error) {
	for {
		hip, p, fault, err = t.reading(extra, more...)
		if err != nil || fault != nil {
			return hip, p, fault, err
		}
		if !t.hips.repeat.again(hip, t.cells, t.line) {
			t.hips.seen(t.of, p.Years)
			return hip, p, nil, nil
		}
	}
}

// hip returns what stands for the row's hip.
func (t *table) hip(cell func(string) string) string {
	t.of = t.hips.find(cell("patient"), cell("hip"))
	return t.of.id
}

func (t *table) reading(extra map[string]string, more ...string) (hip string, p study.Point, fault *RowError, err error) {
	cell, line, err := t.row()
	for err == nil && (cell("penetration_mm") == notKnown || t.setAside()) {
		switch {
		case cell("hip") == notKnown: // a film of no hip
		case t.setAside():
			t.aside.add(t.hip(cell))
		default:
			t.unread.add(t.hip(cell))
		}
		cell, line, err = t.row()
	}
	if err != nil {
		return "", p, nil, err
	}
	hip = t.hip(cell)
	say := func(column string, why study.Note) {
		if fault == nil {
			fault = &RowError{line, t.names.named(column), hip, why}
		}
	}
	if hip == "" {
		say("hip", empty)
	}
	if !t.excess.IsZero() {
		say("after the last", t.excess)
	}
	number := func(name string) float64 {
		v, why := t.number(cell(name))
		if !why.IsZero() {
			say(name, why)
		}
		return v
	}
	p.Years, p.MM, p.Offset = number("years"), number("penetration_mm"), t.offsets
	if s := yearsFault(p.Years); !s.IsZero() {
		say("years", s)
	}
	for name, v := range map[string]*float64{"se_mm": &p.SE, "se_baseline_mm": &p.SEBase, "se_scale": &p.SEScale} {
		if se := cell(name); se != "" && se != notKnown {
			if *v = number(name); *v < 0 {
				say(name, note("cell.negative", study.Values{"Value": *v}))
			}
			if name == "se_scale" && *v >= 1 {
				say(name, note("cell.not-relative", study.Values{"Value": *v}))
			}
		}
	}
	t.values = nil
	for _, name := range t.numbers {
		v := number(name)
		if name == "liner_mm" && cell(name) != "" && !(v > 0) {
			say(name, note("cell.thickness", study.Values{"Value": v}))
		}
		t.values = append(t.values, v)
	}
	for _, name := range more {
		extra[name] = cell(name)
		if extra[name] == "" && t.names[name] != "" {
			say(name, empty)
		}
	}
	return hip, p, fault, nil
}

// setAside reports whether the row is a reading of a study's export that does not count there:
// one of another reader, one that was replaced or withdrawn, or of a film that was left out.
func (t *table) setAside() bool {
	return t.counts >= 0 && t.counts < len(t.cells) && strings.TrimSpace(t.cells[t.counts]) != "1"
}

// yearsFault says what is wrong with a time since surgery, where something is.
func yearsFault(years float64) study.Note {
	switch {
	case years < 0:
		return note("cell.early", study.Values{"Value": years})
	case years > study.MaxYears:
		return note("cell.days", study.Values{"Value": years})
	}
	return study.Note{}
}

// row reads the next row; cell returns what stands in a column.
func (t *table) row() (cell func(name string) string, line int, err error) {
	cells, err := t.csv.Read()
	if err != nil {
		return nil, 0, tableError(err)
	}
	line, _ = t.csv.FieldPos(0)
	t.line, t.excess, t.cells = line, study.Note{}, cells
	for i := t.width; i < len(cells); i++ {
		if strings.TrimSpace(cells[i]) != "" {
			t.excess = note("cell.excess", study.Values{"N": float64(len(cells)), "Header": float64(t.width)})
		}
	}
	return func(name string) string {
		if i, ok := t.column[name]; ok && i < len(cells) {
			return unguarded(strings.TrimSpace(cells[i]))
		}
		return ""
	}, line, nil
}

// whole reads every row of a table whose rows are named in column name. What a row
// says wrong is told by say; with a bad row, or none at all, the table is refused.
func whole[T any](t *table, name string, read func(cell func(string) string, say func(column string, why study.Note)) T) (rows []T, bad []*RowError, err error) {
	for {
		cell, line, err := t.row()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, err
		}
		say := func(column string, why study.Note) {
			bad = append(bad, &RowError{line, t.names.named(column), cell(name), why})
		}
		if cell(name) == "" {
			say(name, empty)
		}
		if !t.excess.IsZero() {
			say("after the last", t.excess)
		}
		rows = append(rows, read(cell, say))
	}
	switch {
	case len(bad) > 0:
		return nil, bad, errBadRows
	case len(rows) == 0:
		return nil, nil, errNoRows
	}
	return rows, nil, nil
}

func (t *table) number(s string) (v float64, why study.Note) {
	if s == "" {
		return 0, empty
	}
	plain := s
	if t.decimalComma && strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		plain = strings.Replace(s, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(plain, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, note("cell.no-number", study.Values{"Text": s})
	}
	return v, study.Note{}
}

// rate fits the line of one hip; bad is the first of its rows that cannot be used.
func (t *table) rate(id string, rows []study.Point, bad *RowError, start float64) study.HipRate {
	hip := t.hips.shown(id)
	if bad != nil {
		return t.tellUnread(id, study.HipRate{Hip: hip, N: len(rows), Reason: bad.Says()})
	}
	r := study.NewHipRate(hip, rows, start)
	if left := r.N - r.Used; left > 0 && r.Fit != nil {
		r.Warnings = append(r.Warnings, note("rate.early", study.Values{"N": float64(left), "Of": float64(r.N), "Start": start}))
	}
	r.Warnings = append(r.Warnings, t.hips.remarks(id)...)
	return t.tellUnread(id, r)
}
