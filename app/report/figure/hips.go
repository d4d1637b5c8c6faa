package figure

import (
	"slices"

	"linerwatch/app/findings"
	"linerwatch/app/study"
)

// leastHigh is the least range of penetration that is drawn, mm.
const leastHigh = 0.4

// drawHips draws each hip's films, and the mean of each group at each visit.
func drawHips(s *sheet, in Input) (float64, []string, error) {
	f := in.Findings
	x, y := span{}, span{}
	n := 0
	for _, h := range f.Hips {
		for _, p := range h.Films {
			x, y = x.with(p.Years), y.with(p.MM)
			n++
		}
	}
	if n == 0 {
		return 0, nil, &NoneError{study.Note{Code: "findings.no-film"}}
	}
	y, cut := withMeans(y, f.Visits)
	var list []entry
	for i, g := range f.Groups {
		list = append(list, entry{sampleBoth(style.look(i), style.Thick), s.say("figure.mean-of", "Group", s.groupWords(g))})
	}
	list = append(list, entry{sampleLine(style.Grey.paler(0.4), style.Thin, nil), s.say("figure.one-hip")})
	top := s.legend(0, list)
	a := s.axes(0, top+2, s.w, 70*mm, x.wider(0.02, 1), y.wider(0.04, leastHigh), s.say("figure.years"), s.say("figure.penetration"))
	a.level(0, style.Grey, style.Thin, nil)
	for _, h := range f.Hips {
		a.hip(h, style.look(slices.Index(f.Groups, h.In)).Ink.paler(0.55))
	}
	for i := range f.Groups {
		a.means(f.Visits, i, len(f.Groups))
	}
	a.frame()
	var more []string
	if cut {
		more = append(more, s.say("figure.beyond"))
	}
	return top + 2 + 70*mm, more, nil
}

// withMeans returns the range of films with the intervals of means, as far as these reach not
// more than its own height beyond it: that of two hips by Student's t may be many times as
// high, and would leave no room for what the hips did. It reports whether one is cut.
func withMeans(films span, visits []findings.Visit) (y span, cut bool) {
	high := max(films.hi-films.lo, leastHigh)
	y = films
	for _, v := range visits {
		for _, q := range v.Of {
			if q.HasInterval {
				lo, hi := max(q.Interval.Lo, films.lo-high), min(q.Interval.Hi, films.hi+high)
				cut = cut || lo > q.Interval.Lo || hi < q.Interval.Hi
				y = y.with(lo, hi)
			}
		}
	}
	return y, cut
}

// hip draws the course of a hip; a single film as a point.
func (a axes) hip(h findings.Hip, ink Ink) {
	var course []Point
	for _, p := range h.Films {
		course = append(course, Point{p.Years, p.MM})
	}
	if len(course) == 1 {
		a.s.mark(Look{Ink: ink}, a.place(course[0].X, course[0].Y), style.Point/2)
	}
	a.line(ink, style.Thin, nil, course...)
}

// means draws the means of the group of a number, a little beside those of the others.
func (a axes) means(visits []findings.Visit, group, of int) {
	look := style.look(group)
	beside := (float64(group) - float64(of-1)/2) * 3.2 / a.w * (a.x.hi - a.x.lo)
	var course []Point
	for _, v := range visits {
		q := v.Of[group]
		if !q.Exists() || v.Years > a.x.hi {
			continue
		}
		p := Point{v.Years + beside, q.Value}
		course = append(course, p)
		if q.HasInterval {
			a.whisker(p.X, q.Interval.Lo, q.Interval.Hi, look.Ink, style.Line)
		}
	}
	a.line(look.Ink, style.Thick, look.Dash, course...)
	for _, p := range course {
		a.s.mark(look, a.place(p.X, p.Y), style.Point*1.25)
	}
}
