package figure

import (
	"fmt"
	"math"
	"slices"

	"linerwatch/app/study"
)

// mostShares are the curves whose intervals can be told apart in one plot; more have a plot
// each, of which a page holds mostPanels.
const mostShares, mostPanels = 3, 12

// drawSurvival draws the share of liners that are not revised, and how many are at risk.
func drawSurvival(s *sheet, in Input) (float64, []string, error) {
	l := in.Findings.Liners
	if len(l.Curves) == 0 {
		return 0, nil, &NoneError{l.Why}
	}
	x := span{0, 1}
	for _, c := range l.Curves {
		for _, t := range c.Steps {
			x = x.with(t.Years * 1.02)
		}
	}
	if len(l.Curves) > mostShares {
		bottom, more := s.survivalPanels(x, l.Curves)
		return bottom, more, nil
	}
	var list []entry
	for i, c := range l.Curves {
		look := style.look(i)
		list = append(list, entry{sampleLine(look.Ink, style.Thick, look.Dash), s.groupWords(c.Group)})
	}
	interval := sampleArea(style.look(0).Ink.paler(0.85))
	if len(l.Curves) > 1 {
		interval = sampleLine(style.Ink, style.Thin*1.2, []float64{1, 1.6})
	}
	top := s.legend(0, append(list, entry{interval, s.say("figure.share-interval")}, s.censored()))
	const h = 66 * mm
	a := s.axes(0, top+2, s.w, h, x, span{0, 100}, s.say("figure.years"), s.say("figure.not-revised"))
	for i, c := range l.Curves {
		a.shares(c, style.look(i), len(l.Curves) > 1)
	}
	for i, c := range l.Curves {
		a.steps(c, style.look(i))
	}
	a.frame()
	return s.atRisk(a, top+2+h, l.Curves), nil, nil
}

// censored is the legend of the marks where a liner was last seen in place.
func (s *sheet) censored() entry {
	return entry{func(s *sheet, at Point, w float64) {
		s.stroke(style.Ink, style.Thin, nil, Point{at.X + w/2, at.Y - 2.5}, Point{at.X + w/2, at.Y + 2.5})
	}, s.say("figure.censored")}
}

// survivalPanels draws a plot for each group, with the curves of the others in grey behind.
func (s *sheet) survivalPanels(x span, curves []study.LinerCurve) (bottom float64, more []string) {
	behind := Look{Ink: style.Grey.paler(0.55)}
	top := 3 + s.legend(0, []entry{{sampleArea(style.look(0).Ink.paler(0.85)), s.say("figure.share-interval")},
		{sampleLine(behind.Ink, style.Thick, nil), s.say("figure.others")}, s.censored()})
	shown := curves[:min(len(curves), mostPanels)]
	if n := len(curves) - len(shown); n > 0 {
		more = append(more, s.say("figure.more-groups", "N", float64(n)))
	}
	w, h, rows, at := s.panels(len(shown), top, 58*mm)
	for i, c := range shown {
		left, down := at(i)
		bold := lettering{size: style.Letters, bold: true, ink: style.Ink}
		s.text(bold, Point{left, down + style.Letters}, 0, s.short(bold, s.groupWords(c.Group), w))
		head := style.Letters + 3
		a := s.axes(left, down+head, w, h-head-style.Small-8, x, span{0, 100}, s.say("figure.years"), s.say("figure.not-revised"))
		a.shares(c, style.look(0), false)
		for k, other := range curves {
			if k != i {
				a.steps(other, behind)
			}
		}
		a.steps(c, style.look(0))
		a.frame()
		y := down + h - 7
		s.text(plain(style.Small), Point{left, y}, 0, s.say("figure.risk"))
		s.riskRow(a, y, c)
	}
	return top + float64(rows)*h, more
}

// shares draws the interval of a curve: as an area, or where that would hide another by its
// ends alone.
func (a axes) shares(c study.LinerCurve, look Look, ends bool) {
	var lower, upper []Point
	from, share := 0.0, c.At(0).Share
	for _, t := range c.Steps {
		if share.Value == 1 { // its interval rests on those still at risk
			share = c.At((from + t.Years) / 2).Share
		}
		i := share.Interval(0.95)
		lower = append(lower, Point{from, 100 * i.Lo}, Point{t.Years, 100 * i.Lo})
		upper = append(upper, Point{from, 100 * i.Hi}, Point{t.Years, 100 * i.Hi})
		from, share = t.Years, t.Share
	}
	if ends {
		a.line(look.Ink, style.Thin*1.2, []float64{1, 1.6}, lower...)
		a.line(look.Ink, style.Thin*1.2, []float64{1, 1.6}, upper...)
		return
	}
	slices.Reverse(lower)
	a.area(look.Ink.paler(0.85), append(upper, lower...)...)
}

// steps draws a curve, with a mark where a liner was last seen in place.
func (a axes) steps(c study.LinerCurve, look Look) {
	line, share := []Point{{0, 100}}, 100.0
	for _, t := range c.Steps {
		line = append(line, Point{t.Years, share}, Point{t.Years, 100 * t.Value})
		share = 100 * t.Value
	}
	a.line(look.Ink, style.Thick, look.Dash, line...)
	for _, t := range c.Steps {
		if t.Censored > 0 {
			p := a.place(t.Years, 100*t.Value)
			a.s.stroke(look.Ink, style.Thin, nil, Point{p.X, p.Y - 2.5}, Point{p.X, p.Y + 2.5})
		}
	}
}

// atRisk writes the liners at risk below the ticks, and returns how far down it came.
func (s *sheet) atRisk(a axes, top float64, curves []study.LinerCurve) float64 {
	small, line := plain(style.Small), style.Small*1.35
	y := top + 6 + style.Small
	s.text(lettering{size: style.Small, bold: true, ink: style.Ink}, Point{0, y}, 0, s.say("figure.at-risk"))
	for i, c := range curves {
		y += line
		if len(curves) > 1 {
			s.text(small, Point{0, y}, 0, s.short(small, s.groupWords(c.Group), s.w))
			y += line
		}
		s.stroke(style.look(i).Ink, style.Thick, style.look(i).Dash, Point{0, y - 2}, Point{10, y - 2})
		s.riskRow(a, y, c)
	}
	return y + style.Small
}

// riskRow writes how many are at risk of one curve at each tick.
func (s *sheet) riskRow(a axes, y float64, c study.LinerCurve) {
	years, _ := s.ticks(a.x, max(2, int(a.w/34)))
	for _, at := range years {
		s.text(plain(style.Small), Point{a.place(at, 0).X, y}, 0.5, fmt.Sprint(c.At(math.Max(at, 0)).AtRisk))
	}
}
