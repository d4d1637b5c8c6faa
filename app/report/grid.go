package report

import (
	"bufio"
	"encoding/json"
	"io"
	"strings"
	"unicode/utf8"
)

// grid is a table of text with aligned columns.
type grid struct {
	head []string
	left []bool // columns that are aligned to the left
	rows [][]string
	// width of each column so far; nil until something is written
	width []int
}

// newGrid takes the column names; one that begins with "<" is aligned to the
// left, the others to the right.
func newGrid(names ...string) *grid {
	g := &grid{}
	for _, n := range names {
		name, left := strings.CutPrefix(n, "<")
		g.head = append(g.head, name)
		g.left = append(g.left, left)
	}
	return g
}

// add adds a row, each cell of which is one line.
func (g *grid) add(cells ...string) {
	for i, c := range cells {
		cells[i] = OneLine(c)
	}
	g.rows = append(g.rows, cells)
}

// write writes the rows there are, the first time below the names, and forgets them.
func (g *grid) write(w io.Writer) error {
	rows := g.rows
	if g.width == nil {
		rows = append([][]string{g.head}, rows...)
		g.width = make([]int, len(g.head))
	}
	for _, row := range rows {
		for i, c := range row {
			g.width[i] = max(g.width[i], utf8.RuneCountInString(c))
		}
	}
	b := bufio.NewWriter(w)
	for _, row := range rows {
		var line strings.Builder
		for i, c := range row {
			pad := strings.Repeat(" ", g.width[i]-utf8.RuneCountInString(c))
			if i > 0 {
				line.WriteString("  ")
			}
			if g.left[i] {
				line.WriteString(c + pad)
			} else {
				line.WriteString(pad + c)
			}
		}
		if _, err := b.WriteString(strings.TrimRight(line.String(), " ") + "\n"); err != nil {
			return err
		}
	}
	g.rows = g.rows[:0]
	return b.Flush()
}

// writeJSON writes v indented, with a newline at the end.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// writeLines writes each line with a newline.
func writeLines(w io.Writer, lines ...string) error {
	for _, l := range lines {
		if _, err := io.WriteString(w, OneLine(l)+"\n"); err != nil {
			return err
		}
	}
	return nil
}
