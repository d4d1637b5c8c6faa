package paper

// Column is a column of a table: what stands above it, and its share of the width.
type Column struct {
	Title string
	Share float64
	Right bool // numbers
	Faint bool // names of what stands beside them
}

// Table writes rows below their titles, which are repeated on the next page. Cells break
// their lines; a row stays on one page where it fits on one.
func (s *Sheet) Table(columns []Column, rows [][]string) {
	st := Style{Points: s.opt.Points * 0.86}
	head := Style{Points: st.Points, Bold: true}
	titles := make([]string, len(columns))
	var sum float64
	named := false
	for i, c := range columns {
		titles[i] = c.Title
		named = named || c.Title != ""
		sum += c.Share
	}
	widths := make([]float64, len(columns))
	for i, c := range columns {
		widths[i] = c.Share / sum * s.Width()
	}
	top := func() {
		if !named {
			return
		}
		s.row(head, columns, widths, titles)
		s.Stroke(Pen{Ink: Grey, MM: 0.25}, Point{X: s.Left(), Y: s.y}, Point{X: s.Left() + s.Width(), Y: s.y})
		s.y += 0.6
	}
	for i, r := range rows {
		h := s.rowHeight(st, widths, r)
		if i == 0 {
			s.Need(h + s.rowHeight(head, widths, titles) + 1)
			top()
		} else if s.y+h > s.Bottom() {
			s.NewPage()
			top()
		}
		s.row(st, columns, widths, r)
		s.Stroke(Pen{Ink: Rule, MM: 0.1}, Point{X: s.Left(), Y: s.y}, Point{X: s.Left() + s.Width(), Y: s.y})
		s.y += 0.5
	}
	s.y += 1.5
}

// gap is the room between columns.
const gap = 2.2

func (s *Sheet) rowHeight(st Style, widths []float64, cells []string) float64 {
	h := 0.
	for i, text := range cells {
		h = max(h, s.Height(st, widths[i]-gap, text))
	}
	return h + 0.6
}

func (s *Sheet) row(style Style, columns []Column, widths []float64, cells []string) {
	x, h := s.Left(), s.rowHeight(style, widths, cells)
	for i, text := range cells {
		st := style
		if columns[i].Faint {
			st.Ink = Grey
		}
		if columns[i].Right {
			for k, l := range s.Wrap(st, widths[i]-gap, text) {
				s.Put(x+widths[i]-gap-s.Measure(st, l), s.y+float64(k)*s.Line(st)+s.points(st)*pointMM, st, l)
			}
		} else {
			s.Block(x, s.y, widths[i]-gap, st, text)
		}
		x += widths[i]
	}
	s.y += h
}
