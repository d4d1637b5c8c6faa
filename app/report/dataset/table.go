package dataset

import (
	"bytes"
	"encoding/csv"

	"linerwatch/app/study"
)

// table is what is told of a table: codebook, datapackage.json and scripts list it.
type table struct {
	name, title string
	key         []string // the columns that tell its rows apart
	refers      []reference
	fields      []field
}

// reference says that columns name a row of another table.
type reference struct {
	columns []string
	table   string
}

// list is a table with its columns, whose rows are made of a T each.
type list[T row] struct {
	table
	columns []column[T]
}

// row is what a row of a table is made of; of is its hip, nil for a row of none.
type row interface{ of() *hipRow }

// newList is a table with the columns that the export may tell.
func newList[T row](m *mask, t table, columns ...[]column[T]) *list[T] {
	l := &list[T]{table: t}
	for _, some := range columns {
		for _, c := range some {
			if c, told := masked(m, c); told {
				l.columns = append(l.columns, c)
				l.fields = append(l.fields, field{c.name, c.label, c.how, c.unit, c.kind})
			}
		}
	}
	return l
}

// put writes a row.
func (l *list[T]) put(to *lines, v T) {
	cells := to.cells[:0]
	b := to.block(l.name, len(l.columns))
	for i := range l.columns {
		c := &l.columns[i]
		s := c.cell(v)
		switch {
		case s == "":
			s = missing
		case c.kind.text():
			s = study.GuardText(s)
		}
		cells = append(cells, s)
		b.widths[i] = max(b.widths[i], len(s))
	}
	to.cells = cells
	b.add(cells)
}

// header writes the names of the columns.
func (t table) header(to *lines) {
	var names []string
	for _, f := range t.fields {
		names = append(names, study.GuardCell(f.name))
	}
	to.block(t.name, len(names)).add(names)
}

// lines are rows of tables in CSV.
type lines struct {
	of    map[string]*block
	cells []string // of a row, used again
}

// block are the rows of one table.
type block struct {
	text   bytes.Buffer
	csv    *csv.Writer
	rows   int
	widths []int // the longest cell of each column, bytes
}

func newLines() *lines { return &lines{of: map[string]*block{}} }

// block returns the rows of a table of so many columns.
func (l *lines) block(table string, columns int) *block {
	b := l.of[table]
	if b == nil {
		b = &block{widths: make([]int, columns)}
		b.csv = csv.NewWriter(&b.text)
		b.csv.UseCRLF = true
		l.of[table] = b
	}
	return b
}

// add writes a row, into memory, which does not fail.
func (b *block) add(cells []string) {
	_ = b.csv.Write(cells)
	b.rows++
}

// bytes returns the rows.
func (b *block) bytes() []byte {
	b.csv.Flush()
	return b.text.Bytes()
}
