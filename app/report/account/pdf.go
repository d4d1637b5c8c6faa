package account

import (
	"fmt"
	"io"

	"linerwatch/app/report/paper"
	"linerwatch/assets/texts"
)

// PDF writes the report as pages, A4 where no size is named.
func (a Account) PDF(w io.Writer, size paper.Size) error {
	s := paper.New(paper.Options{Size: size, Title: a.Title, Language: a.voice.Code(), Date: a.Date, Points: 9.5, Foot: a.Title,
		Page: func(page, pages string) string {
			return a.voice.Say("paper.page", texts.Values{"Page": page, "Pages": pages})
		}})
	for i, b := range a.blocks {
		switch b := b.(type) {
		case heading:
			if i+1 < len(a.blocks) {
				s.Need(headRoom + first(s, a.blocks[i+1]))
			}
			s.Heading(b.level, b.text)
		case paragraph:
			s.Text(string(b))
		case list:
			for _, t := range b {
				s.Text("• " + t)
			}
		case table:
			b.onto(s)
		case picture:
			b.onto(s)
		}
	}
	return s.Write(w)
}

// headRoom is the height of a heading with what lies above it, and tableStart that of a
// table's caption, titles and first row, mm.
const headRoom, tableStart = 9, 18

// first is how much of a block has to be on the page of the heading before it, mm; a heading
// sees to some lines of text by itself.
func first(s *paper.Sheet, b block) float64 {
	switch b := b.(type) {
	case table:
		return tableStart
	case picture:
		_, high := b.on(s)
		return high
	}
	return 0
}

func (t table) onto(s *paper.Sheet) {
	s.Space(1.5)
	s.Need(tableStart)
	s.TextIn(paper.Style{Bold: true, Points: 8.5}, t.caption)
	var columns []paper.Column
	for _, c := range t.columns {
		columns = append(columns, paper.Column{Title: c.title, Share: c.share, Right: c.right})
	}
	s.Table(columns, t.rows)
}

// captionStyle is how captions of figures look.
var captionStyle = paper.Style{Points: 8}

// on returns how large the figure is drawn, smaller where the text is narrower, and the
// height that it takes with its caption, mm.
func (p picture) on(s *paper.Sheet) (scale, high float64) {
	w, h := p.Size()
	caption := s.Height(captionStyle, s.Width(), p.words())
	scale = min(1, s.Width()/w, (s.Bottom()-30-caption)/h)
	return scale, h*scale + 4.5 + caption
}

// onto places the figure and its caption below on the same page.
func (p picture) onto(s *paper.Sheet) {
	scale, high := p.on(s)
	_, h := p.Size()
	s.Need(high)
	s.Space(1.5)
	s.Place(h*scale, func(pdf *paper.Page, x, y float64) { p.On(pdf, x, y, scale*25.4/72) })
	s.TextIn(captionStyle, p.words())
	s.Space(1.5)
}

func (p picture) words() string {
	return fmt.Sprintf("%s %s. %s", p.named, p.Title, p.Caption)
}
