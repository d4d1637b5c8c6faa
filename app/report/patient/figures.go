package patient

import (
	"math"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

// Greys that stay apart on a printer without colours.
var (
	metal   = paper.Ink{R: 0x9a, G: 0xa1, B: 0xa6}
	plastic = paper.Ink{R: 0xf3, G: 0xee, B: 0xdf}
	ball    = paper.Ink{R: 0xc9, G: 0xd3, B: 0xda}
)

// draw draws cup, lining and ball to scale, each named beside it, and a bar of 10 mm.
func (p Page) draw(s *paper.Sheet, x, y, w, h float64) {
	d, ok := p.Drawing()
	if !ok {
		return
	}
	reach := max(d.CupR+math.Hypot(d.CupX, d.CupY), d.HeadR+d.LinerMM) * 1.02
	names := p.names(d)
	label := paper.Style{Points: leastLabel}
	aside := 0.
	for _, n := range names {
		aside = max(aside, s.Measure(label, n.text))
	}
	k := min((w-aside-7)/(2*reach), (h-2)/(2*reach))
	cx, cy := x+k*reach, y+h/2
	s.Clipped(x, y, w, h, func() { d.shapes(s, cx, cy, k) })
	line, at := s.Line(label), y+1.
	for _, n := range names {
		tx := x + w - aside
		s.Put(tx, at+line*0.75, label, n.text)
		s.Stroke(paper.Pen{Ink: paper.Black, MM: 0.2}, paper.Point{X: tx - 1, Y: at + line*0.5}, paper.Point{X: cx + n.x*k, Y: cy + n.y*k})
		s.Disc(paper.Pen{Fill: paper.Black, Solid: true}, cx+n.x*k, cy+n.y*k, 0.6)
		at += max(line*1.5, (h-18)/4)
	}
	p.bar(s, d, x+w-max(aside, 10*k), y+h-2, k, label)
}

// shapes draws what the names name; k is mm on paper for a mm of the hip.
func (d Drawing) shapes(s *paper.Sheet, x, y, k float64) {
	edge := paper.Pen{Ink: paper.Black, MM: 0.25, Solid: true}
	cup, lining, head := edge, edge, edge
	cup.Fill, lining.Fill, head.Fill = metal, plastic, ball
	s.Disc(cup, x+d.CupX*k, y+d.CupY*k, d.CupR*k)
	if d.LinerMM > 0 {
		s.Disc(lining, x, y, (d.HeadR+d.LinerMM)*k)
	}
	nx, ny := x+d.DX*k, y+d.DY*k
	left := paper.Pen{Fill: paper.White, Solid: true}
	d.way(s, left, x, y, nx, ny, d.HeadR*k)
	s.Disc(head, nx, ny, d.HeadR*k)
	if !d.Moves {
		return
	}
	s.Disc(paper.Pen{Ink: paper.Black, MM: 0.4, Dash: []float64{1.4, 1}}, x, y, d.HeadR*k)
	s.Stroke(paper.Pen{Ink: paper.Black, MM: 0.7}, paper.Point{X: x, Y: y}, paper.Point{X: nx, Y: ny})
	s.Disc(paper.Pen{Ink: paper.Black, MM: 0.3, Fill: paper.White, Solid: true}, x, y, 0.8)
	s.Disc(paper.Pen{Fill: paper.Black, Solid: true}, nx, ny, 0.9)
}

// way is where the ball has been, from one place to the other.
func (d Drawing) way(s *paper.Sheet, pen paper.Pen, x, y, nx, ny, r float64) {
	s.Disc(pen, x, y, r)
	n := math.Hypot(nx-x, ny-y)
	if n == 0 {
		return
	}
	ux, uy := -(ny-y)/n*r, (nx-x)/n*r
	s.Area(pen, paper.Point{X: x + ux, Y: y + uy}, paper.Point{X: nx + ux, Y: ny + uy}, paper.Point{X: nx - ux, Y: ny - uy}, paper.Point{X: x - ux, Y: y - uy})
}

// name is a word and the place that it names, mm from the ball's first place.
type name struct {
	text string
	x, y float64
}

// names are the words of the drawing from top to bottom.
func (p Page) names(d Drawing) []name {
	along := func(r, degrees float64) (x, y float64) {
		a := degrees * math.Pi / 180
		return r * math.Cos(a), -r * math.Sin(a)
	}
	cup, now := "patient.label.cup", "patient.label.ball"
	if p.hip.Trend.Films[0].CupKind == study.Wire {
		cup = "patient.label.socket"
	}
	if d.Moves {
		now = "patient.label.now"
	}
	between := (d.HeadR + d.LinerMM + d.CupR) / 2
	if d.LinerMM == 0 || d.HeadR+d.LinerMM >= d.CupR {
		between = d.CupR - 1
	}
	x, y := along(between, 52)
	out := []name{{p.say.Say(cup, nil), x + d.CupX, y + d.CupY}}
	if d.LinerMM > 0 {
		x, y = along(d.HeadR+d.LinerMM/2, 32)
		out = append(out, name{p.say.Say("patient.label.lining", nil), x, y})
	}
	x, y = along(d.HeadR*0.62, 0)
	out = append(out, name{p.say.Say(now, nil), x + d.DX, y + d.DY})
	if d.Moves {
		x, y = along(d.HeadR, -32)
		out = append(out, name{d.First, x, y})
	}
	return out
}

func (p Page) bar(s *paper.Sheet, d Drawing, x, y, k float64, label paper.Style) {
	pen := paper.Pen{Ink: paper.Black, MM: 0.4}
	s.Stroke(pen, paper.Point{X: x, Y: y}, paper.Point{X: x + 10*k, Y: y})
	for _, at := range []float64{x, x + 10*k} {
		s.Stroke(pen, paper.Point{X: at, Y: y - 1.2}, paper.Point{X: at, Y: y + 1.2})
	}
	s.Put(x, y-1.8, label, d.Bar)
}

// course draws the films, the pace with its band, and the end of settling.
func (p Page) course(s *paper.Sheet, x, y, w, h float64) {
	t, line := p.hip.Trend, p.hip.Trend.SteadyCourse()
	years, moved, settling := p.Axes()
	a := paper.Axes{X1: max(p.last().Years*1.05, 2), YName: moved, XName: years, Points: leastLabel, Mark: p.say.Say("number.mark", nil)}
	a.Y0, a.Y1 = span(t, line)
	a = s.Axes(a, x, y, w, h)
	a.Within(func() { a.Course(line, ball, paper.Pen{Ink: paper.Black, MM: 0.6}) })
	if p.Settles() {
		start := t.Fit.StartYears
		s.Stroke(paper.Pen{Ink: paper.Black, MM: 0.35, Dash: []float64{0.4, 1}}, a.Place(start, a.Y0), a.Place(start, a.Y1))
		s.Put(a.Place(start, 0).X+1, a.Top()+4, paper.Style{Points: leastLabel, Ink: paper.Grey}, "‹ "+settling)
	}
	for _, f := range t.Penetration {
		at := a.Place(f.Years, f.Vector.Superior)
		s.Disc(paper.Pen{Ink: paper.White, MM: 0.3, Fill: paper.Black, Solid: true}, at.X, at.Y, 1.3)
	}
}

// span is the range of the course: all films and the band, a millimetre at least.
func span(t study.Trend, line []study.CoursePoint) (lo, hi float64) {
	for _, f := range t.Penetration {
		lo, hi = min(lo, f.Vector.Superior), max(hi, f.Vector.Superior)
	}
	for _, c := range line {
		if c.Told {
			lo, hi = min(lo, c.Lo), max(hi, c.Hi)
		}
	}
	hi = max(hi, lo+1)
	if lo < 0 {
		lo -= 0.05 * (hi - lo)
	}
	return lo, hi + 0.08*(hi-lo)
}
