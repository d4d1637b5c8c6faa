package paper_test

import (
	"bytes"
	"fmt"
	"image"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/paper"
	"linerwatch/app/report/paper/papertest"
)

var now = time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)

func sheet(size paper.Size) *paper.Sheet {
	return paper.New(paper.Options{Size: size, Title: "A title", Language: "en", Date: now, Foot: "a foot",
		Page: func(page, pages string) string { return "page " + page + " of " + pages }})
}

func written(t *testing.T, s *paper.Sheet) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, s.Write(&b))
	return b.Bytes()
}

func pages(t *testing.T, pdf []byte) []string {
	t.Helper()
	p, err := papertest.Pages(pdf)
	require.NoError(t, err)
	return p
}

func ExampleSheet() {
	s := paper.New(paper.Options{Size: paper.A4, Title: "A page", Language: "en", Date: now})
	s.Heading(1, "A page")
	s.Text("What it says.")
	var b bytes.Buffer
	err := s.Write(&b)
	fmt.Println(err, s.Pages())
	// Output: <nil> 1
}

// All letters of a text come to the page, in any script that the font has; those beyond are
// marked.
func TestTextIsWritten(t *testing.T) {
	s := sheet(paper.A4)
	s.Heading(1, "Größe ± ½ Ω ° – “x” (a) \\ )")
	s.Text("one\ttwo\nthree \x07four 😀 \u202e")
	p := pages(t, written(t, s))
	require.Len(t, p, 1)
	require.Contains(t, p[0], "Größe ± ½ Ω ° – “x” (a) \\ )")
	require.Contains(t, p[0], "one two three four ?")
	require.Contains(t, p[0], "page 1 of 1 · a foot")
}

// The same calls give the same bytes.
func TestSameBytes(t *testing.T) {
	write := func() []byte {
		s := sheet(paper.Letter)
		s.Heading(1, "One")
		s.Text("Text.")
		s.Table([]paper.Column{{Title: "a", Share: 1}, {Title: "b", Share: 2, Right: true}}, [][]string{{"1", "2"}})
		require.NoError(t, s.Picture(image.NewGray(image.Rect(0, 0, 20, 20)), 20, 60, 20, 20))
		return written(t, s)
	}
	require.Equal(t, write(), write())
	require.True(t, bytes.Contains(write(), []byte("/BaseFont /LINERW+body")), "the name of a subset")
	require.False(t, bytes.Contains(write(), []byte("utf8lw")))
}

// Lines keep to their width, and a word that is wider is broken.
func TestWrapKeepsToItsWidth(t *testing.T) {
	s := sheet(paper.A4)
	text := "A short one, " + strings.Repeat("W", 200) + " and Donaudampfschifffahrtsgesellschaft"
	lines := s.Wrap(paper.Style{}, 40, text)
	require.Greater(t, len(lines), 8)
	for _, l := range lines {
		require.LessOrEqual(t, s.Measure(paper.Style{}, l), 40.0, l)
	}
	require.Equal(t, strings.ReplaceAll(text, " ", ""), strings.ReplaceAll(strings.Join(lines, ""), " ", ""), "nothing is lost")
	require.Equal(t, []string{""}, s.Wrap(paper.Style{}, 40, ""))
	require.Len(t, s.Wrap(paper.Style{}, 0.1, "abc"), 3, "a letter a line at least")
	require.Equal(t, []string{"brookmeyer-", "crowley"}, s.Wrap(paper.Style{}, s.Measure(paper.Style{}, "brookmeyer-crow"), "brookmeyer-crowley"))
}

// A table goes on on the next page, below its titles, and loses no row.
func TestTableGoesOn(t *testing.T) {
	s := sheet(paper.A4)
	var rows [][]string
	for i := range 150 {
		rows = append(rows, []string{fmt.Sprintf("row%d.", i), "x"})
	}
	s.Table([]paper.Column{{Title: "head", Share: 1}, {Title: "x", Share: 1}}, rows)
	p := pages(t, written(t, s))
	require.Greater(t, len(p), 2)
	all := strings.Join(p, "\n")
	for i := range 150 {
		require.Contains(t, all, fmt.Sprintf("row%d.", i))
	}
	for _, one := range p {
		require.True(t, strings.HasPrefix(one, "head"), one[:20])
	}
}

// No heading stands alone at the end of a page, and no line of a paragraph.
func TestPagesEndInOrder(t *testing.T) {
	for fill := 0; fill < 60; fill += 3 {
		s := sheet(paper.A4)
		s.MoveTo(s.Bottom() - float64(fill)/2)
		s.Heading(2, "Heading")
		s.Text(strings.Repeat("word ", 40))
		for _, p := range pages(t, written(t, s)) {
			lines := strings.Split(p, "\n")
			text := 0
			for _, l := range lines {
				if strings.HasPrefix(l, "word") {
					text++
				}
			}
			require.NotEqual(t, 1, text, "a line alone, %d", fill)
			require.False(t, strings.Contains(p, "Heading") && text == 0, "a heading alone, %d", fill)
		}
	}
}

func TestTicksAreRound(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		most   int
		want   []float64
	}{
		{0, 10, 6, []float64{0, 2, 4, 6, 8, 10}},
		{-0.2, 1.1, 4, []float64{0, 0.5, 1}},
		{-0.85, 1.15, 3, []float64{-0.5, 0, 0.5, 1}},
		{0, 0, 4, []float64{0}},
	} {
		require.InDeltaSlice(t, c.want, paper.Ticks(c.lo, c.hi, c.most).At, 1e-12)
	}
}

func TestRoundUp(t *testing.T) {
	for v, want := range map[float64]float64{0.03: 0.05, 0.05: 0.05, 1: 1, 1.01: 2, 7: 10, 0: 0} {
		require.InDelta(t, want, paper.RoundUp(v), 1e-12)
	}
}

func TestSizesAreRead(t *testing.T) {
	for _, word := range []string{"a4", "letter"} {
		size, err := paper.ParseSize(word)
		require.NoError(t, err)
		require.Equal(t, paper.Size(word), size)
	}
	_, err := paper.ParseSize("a3")
	require.EqualError(t, err, `report: no paper "a3": it is a4 or letter`)
	require.InDelta(t, 297, sheet(paper.A4).Bottom()+13, 0.1)
	require.InDelta(t, 279.4, sheet(paper.Letter).Bottom()+13, 0.1)
}
