package figure

import (
	"math"

	"linerwatch/app/report/paper"
)

// span is a range of values.
type span struct{ lo, hi float64 }

// with returns the range with values in it; what is no number is passed over.
func (s span) with(values ...float64) span {
	for _, v := range values {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			s.lo, s.hi = min(s.lo, v), max(s.hi, v)
		}
	}
	return s
}

// wider returns the range with room of a share of it on either side, and no narrower than
// least.
func (s span) wider(share, least float64) span {
	if d := least - (s.hi - s.lo); d > 0 {
		s.lo, s.hi = s.lo-d/2, s.hi+d/2
	}
	d := share * (s.hi - s.lo)
	return span{s.lo - d, s.hi + d}
}

// ticks are round values of a range, and their labels with a like number of decimals.
func (s *sheet) ticks(r span, most int) (at []float64, labels []string) {
	t := paper.Ticks(r.lo, r.hi, most)
	for _, v := range t.At {
		labels = append(labels, t.Label(v, s.voice.Say("number.mark", nil)))
	}
	return t.At, labels
}

// axes are a plot's area on a sheet.
type axes struct {
	s         *sheet
	x, y      span
	left, top float64
	w, h      float64
}

// axes draws those of a plot in a rectangle, the name of y above it and that of x below.
func (s *sheet) axes(left, top, w, h float64, x, y span, xName, yName string) axes {
	letters, small := plain(style.Letters), plain(style.Small)
	line := style.Letters * 1.25
	a := axes{s: s, x: x, y: y}
	a.top, a.h = top+line+3, h-2.4*line-9
	at, labels := s.ticks(y, max(2, int(a.h/(2.2*line))))
	wide := 0.0
	for _, l := range labels {
		wide = max(wide, s.width(small, l))
	}
	a.left = left + wide + style.TickGap + 3
	a.w = left + w - a.left - 4
	s.text(letters, Point{left, top + style.Letters}, 0, s.short(letters, yName, w))
	for i, v := range at {
		p := a.place(x.lo, v)
		s.stroke(style.Rule, style.Thin, nil, p, Point{a.left + a.w, p.Y})
		s.stroke(style.Grey, style.Thin, nil, Point{p.X - style.TickGap, p.Y}, p)
		s.text(small, Point{p.X - style.TickGap - 1.5, p.Y + style.Small*0.36}, 1, labels[i])
	}
	at, labels = s.ticks(x, max(2, int(a.w/34)))
	for i, v := range at {
		p := a.place(v, y.lo)
		s.stroke(style.Grey, style.Thin, nil, p, Point{p.X, p.Y + style.TickGap})
		s.text(small, Point{p.X, p.Y + style.TickGap + style.Small}, 0.5, labels[i])
	}
	s.text(letters, Point{a.left + a.w/2, a.top + a.h + style.TickGap + style.Small + line}, 0.5, s.short(letters, xName, w))
	return a
}

// frame draws the two lines of the axes, over what has been drawn.
func (a axes) frame() {
	a.s.stroke(style.Ink, style.Thin*1.5, nil, Point{a.left, a.top}, Point{a.left, a.top + a.h}, Point{a.left + a.w, a.top + a.h})
}

func (a axes) place(x, y float64) Point {
	return Point{a.left + (x-a.x.lo)/(a.x.hi-a.x.lo)*a.w, a.top + a.h - (y-a.y.lo)/(a.y.hi-a.y.lo)*a.h}
}

func (a axes) line(ink Ink, width float64, dash []float64, xy ...Point) {
	out := make([]Point, len(xy))
	for i, p := range xy {
		out[i] = a.place(p.X, p.Y)
	}
	a.s.stroke(ink, width, dash, out...)
}

// level draws a line across at y, upright one at x.
func (a axes) level(y float64, ink Ink, width float64, dash []float64) {
	a.line(ink, width, dash, Point{a.x.lo, y}, Point{a.x.hi, y})
}

func (a axes) upright(x float64, ink Ink, width float64, dash []float64) {
	a.line(ink, width, dash, Point{x, a.y.lo}, Point{x, a.y.hi})
}

func (a axes) area(ink Ink, xy ...Point) {
	out := make([]Point, len(xy))
	for i, p := range xy {
		out[i] = a.place(p.X, p.Y)
	}
	a.s.fill(ink, out...)
}

// whisker draws an interval upright at x; an arrow where it goes on beyond the axis.
func (a axes) whisker(x, lo, hi float64, ink Ink, width float64) {
	p, q := a.place(x, max(lo, a.y.lo)), a.place(x, min(hi, a.y.hi))
	a.s.stroke(ink, width, nil, p, q)
	for _, e := range []struct {
		at     Point
		in     float64 // towards the axis, downwards
		beyond bool
	}{{p, -1, lo < a.y.lo}, {q, 1, hi > a.y.hi}} {
		if e.beyond {
			a.s.beyond(ink, e.at, Point{0, e.in}, 1.8)
			continue
		}
		a.s.stroke(ink, width, nil, Point{e.at.X - 1.5, e.at.Y}, Point{e.at.X + 1.5, e.at.Y})
	}
}

// beyond draws the head of an arrow where something goes on, whose tip is at a point; back is the direction away from
// the tip, of length 1, and half its width half.
func (s *sheet) beyond(ink Ink, tip, back Point, half float64) {
	x, y := tip.X+2*half*back.X, tip.Y+2*half*back.Y
	s.fill(ink, tip, Point{x - half*back.Y, y + half*back.X}, Point{x + half*back.Y, y - half*back.X})
}

// entry is a line of a legend: what its sample looks like, and what it is.
type entry struct {
	sample func(s *sheet, at Point, w float64)
	words  string
}

// legend writes entries from the left, in as many rows as they need, and returns how far
// down it came.
func (s *sheet) legend(top float64, list []entry) float64 {
	const sample = 16.0
	letters := plain(style.Small)
	x, y := 0.0, top+style.Small
	for _, e := range list {
		words := s.short(letters, e.words, s.w-sample-style.LegendGap)
		w := sample + 3 + s.width(letters, words) + 3*style.LegendGap
		if x > 0 && x+w-3*style.LegendGap > s.w {
			x, y = 0, y+style.Small*1.45
		}
		e.sample(s, Point{x, y - style.Small*0.35}, sample)
		s.text(letters, Point{x + sample + 3, y}, 0, words)
		x += w
	}
	if len(list) == 0 {
		return top
	}
	return y + style.Small*0.9
}

// The samples of legends.
func sampleLine(ink Ink, width float64, dash []float64) func(*sheet, Point, float64) {
	return func(s *sheet, at Point, w float64) {
		s.stroke(ink, width, dash, at, Point{at.X + w, at.Y})
	}
}

func sampleArea(ink Ink) func(*sheet, Point, float64) {
	return func(s *sheet, at Point, w float64) { s.box(ink, at.X, at.Y-3, w, 6) }
}

func sampleMark(l Look) func(*sheet, Point, float64) {
	return func(s *sheet, at Point, w float64) { s.mark(l, Point{at.X + w/2, at.Y}, style.Point) }
}

func sampleBoth(l Look, width float64) func(*sheet, Point, float64) {
	return func(s *sheet, at Point, w float64) {
		s.stroke(l.Ink, width, l.Dash, at, Point{at.X + w, at.Y})
		s.mark(l, Point{at.X + w/2, at.Y}, style.Point)
	}
}

// paler mixes an ink with white.
func (i Ink) paler(share float64) Ink {
	mix := func(v uint8) uint8 { return uint8(math.Round(255 - (255-float64(v))*(1-share))) }
	return Ink{mix(i.R), mix(i.G), mix(i.B)}
}
