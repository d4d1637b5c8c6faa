package figure

import "linerwatch/app/study"

// drawTrend draws the films of a hip, the steady-state line and the interval of its mean.
func drawTrend(s *sheet, in Input) (float64, []string, error) {
	t := in.Trend
	if len(t.Penetration) == 0 {
		return 0, nil, &NoneError{study.Note{Code: "figure.no-film"}}
	}
	film := Look{Ink: style.Ink, Mark: Disc}
	out := Look{Ink: style.Ink, Mark: Ring}
	line := style.look(0)
	m := t.SteadyLine(study.Superior)
	drawn := t.Fit != nil && m.Fitted
	list := []entry{{sampleMark(film), s.say("figure.film")}, {sampleMark(out), s.say("figure.film-out")}, {sampleArea(style.Tint), s.say("figure.settling", "Years", t.Hip.Start())}}
	if drawn {
		list = append(list, entry{sampleLine(line.Ink, style.Thick, nil), s.say("figure.line")})
		if t.Fit.HasInterval {
			list = append(list, entry{sampleArea(style.Pale), s.say("figure.band")})
		}
	}
	top := s.legend(0, list)
	last := t.Penetration[len(t.Penetration)-1].Years
	x := span{0, max(last*1.04, last+0.2)}.with(t.Penetration[0].Years)
	lines := curveOf(m, drawn, t.Hip.Start(), x.hi)
	y := span{}
	for _, p := range t.Penetration {
		lo, hi := ends(p)
		y = y.with(lo, hi)
	}
	for _, p := range lines {
		y = y.with(p.y)
		if p.ok {
			y = y.with(p.lo, p.hi)
		}
	}
	a := s.axes(0, top+2, s.w, 62*mm, x, y.wider(0.05, 0.4), s.say("figure.years"), s.say("figure.penetration"))
	if start := min(t.Hip.Start(), x.hi); start > x.lo {
		a.area(style.Tint, Point{x.lo, a.y.lo}, Point{start, a.y.lo}, Point{start, a.y.hi}, Point{x.lo, a.y.hi})
	}
	a.level(0, style.Grey, style.Thin, nil)
	a.curve(lines, line.Ink)
	for _, p := range t.Penetration {
		look := out
		if p.InLine {
			look = film
		}
		if lo, hi := ends(p); hi > lo {
			a.whisker(p.Years, lo, hi, style.Ink, style.Thin*1.3)
		}
		s.mark(look, a.place(p.Years, p.Superior), style.Point)
	}
	a.frame()
	return top + 2 + 62*mm, []string{s.trendWords(t)}, nil
}

// ends are those of the 95 % interval of a film's own reading.
func ends(p study.Penetration) (lo, hi float64) {
	i := p.Reading95()
	return i.Lo, i.Hi
}

// trendWords tell the hip and its rate.
func (s *sheet) trendWords(t study.Trend) string {
	f := t.Fit
	switch {
	case f == nil:
		return s.say("figure.trend.none", "Hip", t.Hip.Label(), "Why", t.WhyNoRate())
	case !f.HasInterval:
		return s.say("figure.trend.bare", "Hip", t.Hip.Label(), "Rate", f.Rate)
	}
	return s.say("figure.trend.rate", "Hip", t.Hip.Label(), "Rate", f.Rate, "Low", f.Lo95, "High", f.Hi95)
}

// at is a place of a model's curve.
type at struct {
	x, y, lo, hi float64
	ok           bool
}

// curveOf samples a model from the start of the steady state on.
func curveOf(m study.Model, drawn bool, from, to float64) []at {
	if !drawn || !(to > from) {
		return nil
	}
	const n = 48
	var out []at
	for i := range n + 1 {
		x := from + (to-from)*float64(i)/n
		y, lo, hi, ok := m.Mean(x)
		out = append(out, at{x, y, lo, hi, ok})
	}
	return out
}

// curve draws a model with its interval.
func (a axes) curve(list []at, ink Ink) {
	var line, band []Point
	for _, p := range list {
		line = append(line, Point{p.x, p.y})
		if p.ok {
			band = append(band, Point{p.x, p.hi})
		}
	}
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].ok {
			band = append(band, Point{list[i].x, list[i].lo})
		}
	}
	a.area(style.Pale, band...)
	a.line(ink, style.Thick, nil, line...)
}
