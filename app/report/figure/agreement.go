package figure

import (
	"fmt"

	"linerwatch/app/study"
)

// mostPairs are the pairs of readers that a page has room for.
const mostPairs = 6

// drawAgreement draws the differences of pairs of readers against their means, with bias and
// limits of agreement.
func drawAgreement(s *sheet, in Input) (float64, []string, error) {
	r := in.Findings.Readers
	if len(r.Pairs) == 0 {
		why := r.Why
		if why.IsZero() {
			why = study.Note{Code: "findings.one-reader"}
		}
		return 0, nil, &NoneError{why}
	}
	var more []string
	list := []entry{{sampleMark(Look{Ink: style.Grey, Mark: Disc}), say("figure.target")}}
	if _, ok := told(r.Told, r.Pairs[0].Of)["bias"]; ok {
		list = append(list, entry{sampleLine(style.look(0).Ink, style.Thick, nil), say("figure.bias")},
			entry{sampleLine(style.look(4).Ink, style.Line, []float64{4, 2}), say("figure.limits")},
			entry{sampleArea(style.Pale), say("figure.their-intervals")})
	}
	for _, q := range r.Told {
		if q.Model == "Bland-Altman" && !q.Exists() {
			more = append(more, say("figure.no-limits", "Of", q.Of, "Why", q.Note))
		}
	}
	top := s.legend(0, list)
	across := 1
	if s.w > 120*mm && len(r.Pairs) > 1 {
		across = 2
	}
	const h = 62 * mm
	pairs := r.Pairs
	if len(pairs) > mostPairs {
		more = append(more, say("figure.more-pairs", "N", float64(len(pairs)-mostPairs)))
		pairs = pairs[:mostPairs]
	}
	for i, p := range pairs {
		w := (s.w - float64(across-1)*10) / float64(across)
		left, down := float64(i%across)*(w+10), top+3+float64(i/across)*(h+6)
		s.pair(left, down, w, h, p, told(r.Told, p.Of))
	}
	rows := (len(pairs) + across - 1) / across
	return top + 3 + float64(rows)*(h+6), more, nil
}

// told are the quantities of a pair of readers by name.
func told(list []study.Quantity, of string) map[string]study.Quantity {
	out := map[string]study.Quantity{}
	for _, q := range list {
		if q.Of == of && q.Model == "Bland-Altman" && q.Exists() {
			out[q.Name] = q
		}
	}
	return out
}

// pair draws one pair.
func (s *sheet) pair(left, top, w, h float64, p study.ReaderPair, told map[string]study.Quantity) {
	x, y := span{p.Points[0].Mean, p.Points[0].Mean}, span{}
	for _, t := range p.Points {
		x, y = x.with(t.Mean), y.with(t.Difference)
	}
	for _, q := range told {
		if q.Unit == "mm" {
			y = y.with(q.Value)
			if q.HasInterval {
				y = y.with(q.Interval.Lo, q.Interval.Hi)
			}
		}
	}
	s.text(lettering{size: style.Letters, bold: true, ink: style.Ink}, Point{left, top + style.Letters}, 0,
		s.short(lettering{size: style.Letters, bold: true}, fmt.Sprintf("%s (n = %d)", say("figure.pair", "Of", p.Of), len(p.Points)), w))
	const room = 30 // for the numbers at the right
	a := s.axes(left, top+style.Letters+2, w-room, h-style.Letters-2, x.wider(0.05, 0.2), y.wider(0.06, 0.1), say("figure.mean"), say("figure.difference"))
	s.levels(a, told)
	for _, t := range p.Points {
		s.mark(Look{Ink: style.Grey, Mark: Disc}, a.place(t.Mean, t.Difference), pointFor(len(p.Points)))
	}
	a.frame()
}

// levels draws bias and limits with their intervals, and the numbers beside them.
func (s *sheet) levels(a axes, told map[string]study.Quantity) {
	names := []string{"bias", "lower limit of agreement", "upper limit of agreement"}
	for _, n := range names {
		if q, ok := told[n]; ok && q.HasInterval {
			a.area(style.Pale, Point{a.x.lo, q.Interval.Lo}, Point{a.x.hi, q.Interval.Lo}, Point{a.x.hi, q.Interval.Hi}, Point{a.x.lo, q.Interval.Hi})
		}
	}
	for i, n := range names {
		q, ok := told[n]
		if !ok {
			continue
		}
		ink, width, dash := style.look(4).Ink, style.Line, []float64{4, 2}
		if i == 0 {
			ink, width, dash = style.look(0).Ink, style.Thick, nil
		}
		a.level(q.Value, ink, width, dash)
		p := a.place(a.x.hi, q.Value)
		s.text(plain(style.Small), Point{p.X + 3, p.Y + style.Small*0.36}, 0, decimal(q.Value, 3))
	}
	a.level(0, style.Grey, style.Thin, []float64{1, 1.5})
}

// pointFor is the radius of marks of which there are many.
func pointFor(n int) float64 {
	switch {
	case n > 1000:
		return style.Point * 0.45
	case n > 150:
		return style.Point * 0.65
	}
	return style.Point * 0.9
}
