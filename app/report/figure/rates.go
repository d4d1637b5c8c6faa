package figure

import (
	"cmp"
	"math"
	"slices"

	"linerwatch/app/findings"
	"linerwatch/app/study"
)

// row is a line of the forest: a hip, or the mean of a group.
type row struct {
	name     string
	group    int
	value    float64
	lo, hi   float64
	interval bool
	mean     bool
}

// drawRates draws the rate of each hip, and the mean of each group by the mixed model, with
// their intervals.
func drawRates(s *sheet, in Input) (float64, []string, error) {
	f := in.Findings
	rows, without := s.forest(f)
	if len(rows) == 0 {
		return 0, nil, &NoneError{study.Note{Code: "figure.no-rate"}}
	}
	var list []entry
	for i, g := range f.Groups {
		list = append(list, entry{sampleMark(style.look(i)), s.say("figure.hips-of", "Group", s.groupWords(g))})
	}
	if slices.ContainsFunc(rows, func(r row) bool { return r.mean }) {
		list = append(list, entry{func(s *sheet, at Point, w float64) { s.diamond(at.X+2, at.X+w/2, at.X+w-2, at.Y, 3, style.Ink) }, s.say("figure.model-mean")})
	}
	list = append(list, entry{sampleLine(style.Grey, style.Line, []float64{2, 2}), s.say("figure.marker", "Rate", findings.MarkRate)})
	top := s.legend(0, list)
	x := rangeOf(rows)
	high := min(style.Letters*1.3, (style.Tallest*mm-top-40)/float64(len(rows)))
	a := s.forestAxes(top+4, high*float64(len(rows)), x, rows, high)
	a.upright(0, style.Grey, style.Thin, nil)
	a.upright(findings.MarkRate, style.Grey, style.Line, []float64{2, 2})
	for i, r := range rows {
		a.row(r, a.top+(float64(i)+0.5)*high, high)
	}
	a.frame()
	var more []string
	if slices.ContainsFunc(rows, func(r row) bool { return r.interval && (r.lo < x.lo || r.hi > x.hi) }) {
		more = append(more, s.say("figure.beyond"))
	}
	if without > 0 {
		more = append(more, s.say("figure.without", "N", float64(without)))
	}
	if high < style.Small*0.9 {
		more = append(more, s.say("figure.unnamed"))
	}
	return a.top + a.h + style.TickGap + style.Small + style.Letters*1.5, more, nil
}

// forest lists the hips with a rate by group and rate, after each group its mean, and counts
// those without one.
func (s *sheet) forest(f findings.Findings) (rows []row, without int) {
	for g, group := range f.Groups {
		var of []row
		for _, h := range f.Hips {
			if h.In != group {
				continue
			}
			if h.Fit == nil {
				without++
				continue
			}
			of = append(of, row{h.LabelIn(s.voice.Say), g, h.Fit.Rate, h.Fit.Lo95, h.Fit.Hi95, h.Fit.HasInterval, false})
		}
		slices.SortStableFunc(of, func(a, b row) int { return cmp.Compare(a.value, b.value) })
		rows = append(rows, of...)
		if q, ok := f.Cohort.Rate(group, f.Groups); ok && len(of) > 0 {
			rows = append(rows, row{s.say("figure.mean-row", "Group", s.groupWords(group)), g, q.Value, q.Interval.Lo, q.Interval.Hi, q.HasInterval, true})
		}
	}
	return rows, without
}

// rangeOf holds every rate, the intervals of means, and those of hips but those that are some
// times wider than most.
func rangeOf(rows []row) span {
	x := span{0, findings.MarkRate}
	var wide []float64
	for _, r := range rows {
		x = x.with(r.value)
		switch {
		case r.interval && r.mean:
			x = x.with(r.lo, r.hi)
		case r.interval:
			wide = append(wide, (r.hi-r.lo)/2)
		}
	}
	slices.Sort(wide)
	if len(wide) > 0 {
		most := 3 * wide[len(wide)/2]
		for _, r := range rows {
			if r.interval && !r.mean && (r.hi-r.lo)/2 <= most {
				x = x.with(r.lo, r.hi)
			}
		}
	}
	return x.wider(0.03, 0.1)
}

// forestAxes draws the axis of rates below rows, whose names stand at the left where they are
// high enough to be read.
func (s *sheet) forestAxes(top, h float64, x span, rows []row, high float64) axes {
	small := plain(style.Small)
	named, wide := high >= style.Small*0.9, 0.0
	for _, r := range rows {
		if named || r.mean {
			l := small
			l.bold = r.mean
			wide = max(wide, min(s.width(l, r.name), s.w*0.34))
		}
	}
	a := axes{s: s, x: x, y: span{0, 1}, left: wide + 5, top: top, w: s.w - wide - 9, h: h}
	for i, r := range rows {
		if named || r.mean {
			l := small
			l.bold = r.mean
			y := top + (float64(i)+0.5)*high + style.Small*0.36
			s.text(l, Point{wide, min(y, top+h+2)}, 1, s.short(l, r.name, s.w*0.34))
		}
	}
	at, labels := s.ticks(x, max(2, int(a.w/34)))
	for i, v := range at {
		p := a.place(v, 0)
		s.stroke(style.Rule, style.Thin, nil, p, Point{p.X, top})
		s.stroke(style.Grey, style.Thin, nil, p, Point{p.X, p.Y + style.TickGap})
		s.text(small, Point{p.X, p.Y + style.TickGap + style.Small}, 0.5, labels[i])
	}
	s.text(plain(style.Letters), Point{a.left + a.w/2, top + h + style.TickGap + style.Small + style.Letters*1.25}, 0.5, s.short(plain(style.Letters), s.say("figure.rate"), a.w))
	return a
}

// row draws a rate and its interval; an arrow where that goes on beyond the axis.
func (a axes) row(r row, y, high float64) {
	look := style.look(r.group)
	at := func(v float64) float64 { return a.place(max(min(v, a.x.hi), a.x.lo), 0).X }
	if r.mean && r.interval {
		a.s.diamond(at(r.lo), at(r.value), at(r.hi), y, max(min(high*0.42, 3.2), 1.6), look.Ink)
		return
	}
	if r.interval {
		lo, hi := at(r.lo), at(r.hi)
		a.s.stroke(look.Ink, min(style.Line, high*0.4), nil, Point{lo, y}, Point{hi, y})
		for _, e := range []struct {
			x, to  float64
			beyond bool
		}{{lo, 1, r.lo < a.x.lo}, {hi, -1, r.hi > a.x.hi}} {
			if e.beyond {
				a.s.beyond(look.Ink, Point{e.x, y}, Point{e.to, 0}, math.Min(2.2, high*0.4))
			}
		}
	}
	a.s.mark(look, Point{at(r.value), y}, min(style.Point, high*0.42))
}

// diamond draws a mean between the ends of its interval.
func (s *sheet) diamond(lo, at, hi, y, half float64, ink Ink) {
	s.fill(ink, Point{lo, y}, Point{at, y - half}, Point{hi, y}, Point{at, y + half})
}
