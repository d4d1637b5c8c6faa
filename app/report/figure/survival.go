package figure

import (
	"fmt"
	"math"

	"linerwatch/app/study"
)

// mostShares are the curves whose intervals can be told apart.
const mostShares = 3

// drawSurvival draws the share of liners that are not revised, and how many are at risk.
func drawSurvival(s *sheet, in Input) (float64, []string, error) {
	l := in.Findings.Liners
	if len(l.Curves) == 0 {
		return 0, nil, &NoneError{l.Why}
	}
	x := span{}
	var list []entry
	for i, c := range l.Curves {
		look := style.look(i)
		list = append(list, entry{sampleLine(look.Ink, style.Thick, look.Dash), s.groupWords(c.Group)})
		for _, t := range c.Steps {
			x = x.with(t.Years)
		}
	}
	var more []string
	interval := sampleArea(style.look(0).Ink.paler(0.85))
	if len(l.Curves) > 1 {
		interval = sampleLine(style.Ink, style.Thin*1.2, []float64{1, 1.6})
	}
	if len(l.Curves) <= mostShares {
		list = append(list, entry{interval, s.say("figure.share-interval")})
	} else {
		more = append(more, s.say("figure.no-shares"))
	}
	list = append(list, entry{func(s *sheet, at Point, w float64) {
		s.stroke(style.Ink, style.Thin, nil, Point{at.X + w/2, at.Y - 2.5}, Point{at.X + w/2, at.Y + 2.5})
	}, s.say("figure.censored")})
	top := s.legend(0, list)
	const h = 66 * mm
	x.hi = max(x.hi*1.02, 1)
	a := s.axes(0, top+2, s.w, h, x, span{0, 100}, s.say("figure.years"), s.say("figure.not-revised"))
	for i, c := range l.Curves {
		if len(l.Curves) > mostShares {
			break
		}
		a.shares(c, style.look(i), len(l.Curves) > 1)
	}
	for i, c := range l.Curves {
		a.steps(c, style.look(i))
	}
	a.frame()
	return s.atRisk(a, top+2+h, l.Curves), more, nil
}

// shares draws the interval of a curve: as an area, or where that would hide another by its
// ends alone.
func (a axes) shares(c study.LinerCurve, look Look, ends bool) {
	lower, upper := []Point{{0, 100}}, []Point{{0, 100}}
	lo, hi := 100.0, 100.0
	for _, t := range c.Steps {
		lower, upper = append(lower, Point{t.Years, lo}), append(upper, Point{t.Years, hi})
		if t.Value < 1 {
			i := t.Interval(0.95)
			lo, hi = 100*i.Lo, 100*i.Hi
		}
		lower, upper = append(lower, Point{t.Years, lo}), append(upper, Point{t.Years, hi})
	}
	if ends {
		a.line(look.Ink, style.Thin*1.2, []float64{1, 1.6}, lower...)
		a.line(look.Ink, style.Thin*1.2, []float64{1, 1.6}, upper...)
		return
	}
	for i := len(lower) - 1; i >= 0; i-- {
		upper = append(upper, lower[i])
	}
	a.area(look.Ink.paler(0.85), upper...)
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
	years, _ := s.ticks(a.x, max(2, int(a.w/34)))
	y := top + 6 + style.Small
	s.text(lettering{size: style.Small, bold: true, ink: style.Ink}, Point{0, y}, 0, s.say("figure.at-risk"))
	for i, c := range curves {
		y += line
		if len(curves) > 1 {
			s.text(small, Point{0, y}, 0, s.short(small, s.groupWords(c.Group), s.w))
			y += line
		}
		s.stroke(style.look(i).Ink, style.Thick, style.look(i).Dash, Point{0, y - 2}, Point{10, y - 2})
		for _, at := range years {
			s.text(small, Point{a.place(at, 0).X, y}, 0.5, fmt.Sprint(c.At(math.Max(at, 0)).AtRisk))
		}
	}
	return y + style.Small
}
