package paper

import "codeberg.org/go-pdf/fpdf"

// Page is the page that is drawn on, in the library's own terms.
type Page = fpdf.Fpdf

// Place makes room for a drawing of a height in the width of the text and has it drawn there:
// draw is told where its top-left corner is. Pages break before it, not within.
func (s *Sheet) Place(h float64, draw func(p *Page, x, y float64)) {
	s.Need(h)
	draw(s.pdf, s.Left(), s.y)
	s.y += h + 2
}
