package account

import (
	"fmt"
	"io"

	"linerwatch/app/report/paper"
)

// PDF writes the report as pages, A4 where no size is named.
func (a Account) PDF(w io.Writer, size paper.Size) error {
	s := paper.New(paper.Options{Size: size, Title: a.Title, Language: "en", Date: a.Date, Points: 9.5, Foot: a.Title,
		Page: func(page, pages string) string { return say("paper.page", "Page", page, "Pages", pages) }})
	for _, b := range a.blocks {
		switch b := b.(type) {
		case heading:
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

func (t table) onto(s *paper.Sheet) {
	s.Space(1.5)
	s.Need(18)
	s.TextIn(paper.Style{Bold: true, Points: 8.5}, t.caption)
	var columns []paper.Column
	for _, c := range t.columns {
		columns = append(columns, paper.Column{Title: c.title, Share: c.share, Right: c.right})
	}
	s.Table(columns, t.rows)
}

// onto places the figure, made smaller where the text is narrower, and its caption below on
// the same page.
func (p picture) onto(s *paper.Sheet) {
	w, h := p.Size()
	caption := p.words()
	st := paper.Style{Points: 8}
	scale := min(1, s.Width()/w, (s.Bottom()-30-s.Height(st, s.Width(), caption))/h)
	h *= scale
	s.Space(1.5)
	s.Need(h + 3 + s.Height(st, s.Width(), caption))
	s.Place(h, func(pdf *paper.Page, x, y float64) { p.On(pdf, x, y, scale*25.4/72) })
	s.TextIn(st, caption)
	s.Space(1.5)
}

func (p picture) words() string {
	return fmt.Sprintf("%s %s. %s", say("account.figure", "N", float64(p.number)), p.Title, p.Caption)
}
