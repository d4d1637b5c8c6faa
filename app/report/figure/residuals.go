package figure

import (
	"linerwatch/app/study"
)

// panel is a plot of points against what they are expected to be.
type panel struct {
	title, xName, yName string
	points              []Point
	diagonal            bool // points lie on it where they are as expected
}

// drawResiduals draws the residuals of films and the effects of hips of the mixed model.
func drawResiduals(s *sheet, in Input) (float64, []string, error) {
	c := in.Findings.Cohort
	if len(c.Checks.Films) == 0 {
		why := c.WhyMixed
		if why.IsZero() {
			why = study.Note{Code: "figure.no-checks"}
		}
		return 0, nil, &NoneError{why}
	}
	films := panel{title: s.say("figure.residuals.films"), xName: s.say("figure.fitted"), yName: s.say("figure.standard")}
	for _, f := range c.Checks.Films {
		films.points = append(films.points, Point{f.Fitted, f.Standard})
	}
	intercepts := panel{title: s.say("figure.residuals.intercepts"), xName: s.say("figure.expected"), yName: s.say("figure.standard"), diagonal: true}
	rates := panel{title: s.say("figure.residuals.rates"), xName: s.say("figure.expected"), yName: s.say("figure.standard"), diagonal: true}
	for _, h := range c.Checks.Hips {
		intercepts.points = append(intercepts.points, Point{h.InterceptQuantile, h.Intercept})
		rates.points = append(rates.points, Point{h.RateQuantile, h.Rate})
	}
	across := 1
	if s.w > 120*mm {
		across = 3
	}
	const h, gap = 56 * mm, 10
	w := (s.w - float64(across-1)*gap) / float64(across)
	for i, p := range []panel{films, intercepts, rates} {
		s.panel(float64(i%across)*(w+gap), float64(i/across)*(h+8), w, h, p)
	}
	return float64(3/across) * (h + 8), nil, nil
}

func (s *sheet) panel(left, top, w, h float64, p panel) {
	bold := lettering{size: style.Letters, bold: true, ink: style.Ink}
	s.text(bold, Point{left, top + style.Letters}, 0, s.short(bold, p.title, w))
	x, y := span{p.points[0].X, p.points[0].X}, span{-2, 2}
	for _, q := range p.points {
		x, y = x.with(q.X), y.with(q.Y)
	}
	if p.diagonal {
		x = x.with(-2, 2)
	}
	a := s.axes(left, top+style.Letters+2, w, h-style.Letters-2, x.wider(0.05, 0.1), y.wider(0.05, 0), p.xName, p.yName)
	if p.diagonal {
		lo, hi := max(a.x.lo, a.y.lo), min(a.x.hi, a.y.hi)
		a.line(style.look(0).Ink, style.Line, nil, Point{lo, lo}, Point{hi, hi})
	} else {
		a.level(0, style.look(0).Ink, style.Line, nil)
		for _, v := range []float64{-normal95, normal95} {
			a.level(v, style.Grey, style.Thin, []float64{3, 2})
		}
	}
	for _, q := range p.points {
		s.mark(Look{Ink: style.Ink, Mark: Disc}, a.place(q.X, q.Y), pointFor(len(p.points))*0.8)
	}
	a.frame()
}

// normal95 is the two-sided 95 % quantile of the normal distribution.
const normal95 = 1.959964
