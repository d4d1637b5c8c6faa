package figure

import (
	"slices"

	"linerwatch/app/study"
)

// mostHips are the hips that a page has room for, each in a plot of its own.
const mostHips = 8

// drawTrend draws the films of a hip, the steady-state line and the interval of its mean; of
// several hips each in a plot of its own, named by its rate.
func drawTrend(s *sheet, in Input) (float64, []string, error) {
	trends := slices.DeleteFunc(slices.Clone(in.Trends), func(t study.Trend) bool { return len(t.Penetration) == 0 })
	if len(trends) == 0 {
		return 0, nil, &NoneError{study.Note{Code: "figure.no-film"}}
	}
	var more []string
	if n := len(trends) - mostHips; n > 0 {
		more, trends = append(more, s.say("figure.more-hips", "N", float64(n))), trends[:mostHips]
	}
	top := s.legend(0, s.trendLegend(trends)) + 2
	if len(trends) == 1 {
		s.trend(trends[0], 0, top, s.w, 62*mm)
		return top + 62*mm, []string{s.trendWords(trends[0])}, nil
	}
	w, h, rows, at := s.panels(len(trends), top, 60*mm)
	for i, t := range trends {
		left, down := at(i)
		bold := lettering{size: style.Letters, bold: true, ink: style.Ink}
		lines := s.broken(bold, w, s.trendWords(t))
		s.lines(bold, Point{left, down}, style.Letters*1.25, lines)
		head := float64(len(lines))*style.Letters*1.25 + 4
		s.trend(t, left, down+head, w, h-head-6)
	}
	return top + float64(rows)*h, more, nil
}

// trendLegend says what is seen of some of the hips at least.
func (s *sheet) trendLegend(trends []study.Trend) []entry {
	var line, band bool
	var starts []float64
	for _, t := range trends {
		line = line || t.Fit != nil
		band = band || t.Fit != nil && t.Fit.HasInterval
		starts = append(starts, t.Hip.Start())
	}
	list := []entry{{sampleMark(Look{Ink: style.Ink, Mark: Disc}), s.say("figure.film")}, {sampleMark(Look{Ink: style.Ink, Mark: Ring}), s.say("figure.film-out")}}
	settling := entry{sampleArea(style.Tint), s.say("figure.bedding-in")}
	if slices.Min(starts) == slices.Max(starts) {
		settling.words = s.say("figure.settling", "Years", starts[0])
	}
	list = append(list, settling)
	if line {
		list = append(list, entry{sampleLine(style.look(0).Ink, style.Thick, nil), s.say("figure.line")})
	}
	if band {
		list = append(list, entry{sampleArea(style.Pale), s.say("figure.band")})
	}
	return list
}

// trend draws one hip in a rectangle.
func (s *sheet) trend(t study.Trend, left, top, w, h float64) {
	m := t.SteadyLine(study.Superior)
	last := t.Penetration[len(t.Penetration)-1].Years
	x := span{0, max(last*1.04, last+0.2)}.with(t.Penetration[0].Years)
	lines := curveOf(m, t.Fit != nil && m.Fitted, t.Hip.Start(), x.hi)
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
	a := s.axes(left, top, w, h, x, y.wider(0.05, 0.4), s.say("figure.years"), s.say("figure.penetration"))
	if start := min(t.Hip.Start(), x.hi); start > x.lo {
		a.area(style.Tint, Point{x.lo, a.y.lo}, Point{start, a.y.lo}, Point{start, a.y.hi}, Point{x.lo, a.y.hi})
	}
	a.level(0, style.Grey, style.Thin, nil)
	a.curve(lines, style.look(0).Ink)
	for _, p := range t.Penetration {
		look := Look{Ink: style.Ink, Mark: Ring}
		if p.InLine {
			look.Mark = Disc
		}
		if lo, hi := ends(p); hi > lo {
			a.whisker(p.Years, lo, hi, style.Ink, style.Thin*1.3)
		}
		s.mark(look, a.place(p.Years, p.Superior), style.Point)
	}
	a.frame()
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
		return s.say("figure.trend.none", "Hip", t.Hip.LabelIn(s.voice.Say), "Why", t.WhyNoRate())
	case !f.HasInterval:
		return s.say("figure.trend.bare", "Hip", t.Hip.LabelIn(s.voice.Say), "Rate", f.Rate)
	}
	return s.say("figure.trend.rate", "Hip", t.Hip.LabelIn(s.voice.Say), "Rate", f.Rate, "Low", f.Lo95, "High", f.Hi95)
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
