package figure

import (
	"fmt"
	"strings"

	"linerwatch/app/study"
)

// mostPairs are the pairs of readers that a page has room for.
const mostPairs = 6

// drawAgreement draws the differences of pairs of readers against their means, with bias and
// limits of agreement.
func drawAgreement(s *sheet, in Input) (float64, []string, error) {
	r := in.Findings.Readers
	pairs := comparedPairs(r.Pairs)
	if len(pairs) == 0 {
		why := r.Why
		if why.IsZero() {
			why = study.Note{Code: "findings.one-reader"}
		}
		return 0, nil, &NoneError{why}
	}
	var more []string
	list := []entry{{sampleMark(Look{Ink: style.Grey, Mark: Disc}), s.say("figure.target")}}
	if _, ok := told(r.Quantities, pairs[0].Of)["bias"]; ok {
		list = append(list, entry{sampleLine(style.look(0).Ink, style.Thick, nil), s.say("figure.bias")},
			entry{sampleLine(style.look(4).Ink, style.Line, []float64{4, 2}), s.say("figure.limits")},
			entry{sampleArea(style.Pale), s.say("figure.their-intervals")})
	}
	for _, q := range r.Quantities {
		if q.Model == "Bland-Altman" && !q.Exists() {
			more = append(more, s.say("figure.no-limits", "Of", s.pairWords(q.Of), "Why", q.Note))
		}
	}
	top := s.legend(0, list)
	across := 1
	if s.w > 120*mm && len(pairs) > 1 {
		across = 2
	}
	const h = 62 * mm
	if len(pairs) > mostPairs {
		more = append(more, s.say("figure.more-pairs", "N", float64(len(pairs)-mostPairs)))
		pairs = pairs[:mostPairs]
	}
	for i, p := range pairs {
		w := (s.w - float64(across-1)*10) / float64(across)
		left, down := float64(i%across)*(w+10), top+3+float64(i/across)*(h+6)
		s.pair(left, down, w, h, p, told(r.Quantities, p.Of))
	}
	rows := (len(pairs) + across - 1) / across
	return top + 3 + float64(rows)*(h+6), more, nil
}

// comparedPairs are those of two readers; where there are none, the two occasions of one.
func comparedPairs(list []study.AgreePair) (out []study.AgreePair) {
	for _, kind := range []study.PairKind{study.BetweenReaders, study.WithinReader} {
		for _, p := range list {
			if p.Kind == kind {
				out = append(out, p)
			}
		}
		if out != nil {
			return out
		}
	}
	return nil
}

// pairWords name a pair of readers, or one reader.
func (s *sheet) pairWords(of string) string {
	if one, other, two := strings.Cut(of, " less "); two {
		return s.say("figure.pair", "One", one, "Other", other)
	}
	return s.say("figure.twice", "Reader", of)
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
func (s *sheet) pair(left, top, w, h float64, p study.AgreePair, told map[string]study.Quantity) {
	x, y := span{p.Mean[0], p.Mean[0]}.with(p.Mean...), span{}.with(p.Diff...)
	for _, q := range told {
		if q.Unit == "mm" {
			y = y.with(q.Value)
			if q.HasInterval {
				y = y.with(q.Interval.Lo, q.Interval.Hi)
			}
		}
	}
	s.text(lettering{size: style.Letters, bold: true, ink: style.Ink}, Point{left, top + style.Letters}, 0,
		s.short(lettering{size: style.Letters, bold: true}, fmt.Sprintf("%s (n = %d)", s.pairWords(p.Of), len(p.Mean)), w))
	const room = 30 // for the numbers at the right
	a := s.axes(left, top+style.Letters+2, w-room, h-style.Letters-2, x.wider(0.05, 0.2), y.wider(0.06, 0.1), s.say("figure.mean"), s.say("figure.difference"))
	s.levels(a, told)
	for i, m := range p.Mean {
		s.mark(Look{Ink: style.Grey, Mark: Disc}, a.place(m, p.Diff[i]), pointFor(len(p.Mean)))
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
		s.text(plain(style.Small), Point{p.X + 3, p.Y + style.Small*0.36}, 0, s.voice.Signed(q.Value, 3))
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
