package figure

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// pdf writes the figure on a page of its size, its letters as text in an embedded subset of
// the font.
func (f Figure) pdf(w io.Writer, date time.Time) error {
	p := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: f.sheet.w, Ht: f.sheet.h}})
	p.SetCatalogSort(true)
	p.SetCreationDate(date.UTC())
	p.SetModificationDate(date.UTC())
	p.SetTitle(clean(f.Title), true)
	p.SetSubject(clean(f.Caption), true)
	p.SetCreator("Linerwatch", true)
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(0, 0, 0)
	p.AddPage()
	f.On(p, 0, 0, 1)
	if err := p.Output(w); err != nil {
		return fmt.Errorf("figure: PDF: %w", err)
	}
	return nil
}

// On draws the figure on a page at a place; point is that of the page's unit.
func (f Figure) On(p *fpdf.Fpdf, x, y, point float64) {
	const family = "figure"
	for k, style := range []string{"", "B"} {
		p.AddUTF8FontFromBytes(family, style, f.sheet.faces[k].ttf)
	}
	at := func(q Point) (float64, float64) { return x + q.X*point, y + q.Y*point }
	for _, i := range f.sheet.items {
		r, g, b := int(i.ink.R), int(i.ink.G), int(i.ink.B)
		if i.text != "" {
			face := ""
			if i.bold {
				face = "B"
			}
			p.SetFont(family, face, i.size)
			p.SetTextColor(r, g, b)
			px, py := at(i.at)
			p.Text(px, py, i.text)
			continue
		}
		how := "F"
		if i.width > 0 {
			how = "D"
			p.SetLineWidth(i.width * point)
			var dash []float64
			for _, d := range i.dash {
				dash = append(dash, d*point)
			}
			p.SetDashPattern(dash, 0)
			p.SetLineCapStyle("butt")
		}
		p.SetDrawColor(r, g, b)
		p.SetFillColor(r, g, b)
		for _, s := range i.path {
			px, py := at(s.to)
			switch s.op {
			case 'M':
				p.MoveTo(px, py)
			case 'L':
				p.LineTo(px, py)
			case 'Z':
				p.ClosePath()
			}
		}
		p.DrawPath(how)
	}
	p.SetDashPattern(nil, 0)
}
