package study

import (
	"math"

	"linerwatch/wearfit"
)

const (
	unitRate = "mm/year"
	unitMM   = "mm"
	unitYear = "years"
)

// LineModel is the code of the line whose slope is the steady-state rate.
const LineModel = "line"

// steadyLine is the least-squares line through the films in the steady state.
var steadyLine = ModelKind{
	Code: LineModel, Name: "steady-state line", About: "steady state only",
	Steady: true, Least: 2,
	fit: fitLine,
}

// With two films of known standard errors the errors are those of the readings.
func fitLine(m *Model, h hipFilms) error {
	l, err := wearfit.FitLine(h.t, h.y, h.w)
	if err != nil {
		return err
	}
	df := float64(l.DF)
	if l.DF == 0 && h.w != nil {
		l, df = l.WithSigma(1), math.Inf(1)
	}
	var steady *TrendFit
	if h.errors != nil {
		if steady, _ = h.steady(); steady != nil && steady.IntervalFrom == FromReadings {
			l, df = steady.Line, math.Inf(1)
			m.Note = "the interval is from the two readings' own errors"
		}
	}
	rate := estimated(h.hip, m.Name, "rate", unitRate, wearfit.Estimate{Value: l.Slope, SE: l.SESlope, DF: df})
	bedding := estimated(h.hip, m.Name, "bedding-in", unitMM, wearfit.Estimate{Value: l.Intercept, SE: l.SEIntercept, DF: df})
	if steady != nil && steady.HasInterval {
		rate.SE = steady.SE
		rate = rate.within(wearfit.Interval{Lo: steady.Lo95, Hi: steady.Hi95})
		bedding.SE, bedding.HasP = 0, false // without the baseline film's own error
		bedding = bedding.within(wearfit.Interval{Lo: steady.BeddingLo95, Hi: steady.BeddingHi95})
	}
	m.told(rate)
	m.Figures = []Quantity{rate, bedding, counted(h.hip, m.Name, "films", l.N)}
	m.mean = func(t float64) float64 { return l.Intercept + l.Slope*t }
	m.reach = func(mm float64) wearfit.Crossing {
		r := l.TimeTo(mm, level)
		return wearfit.Crossing{Level: mm, At: r.At, Times: r.Times(0), Beyond: r.Beyond}
	}
	if df > 0 {
		m.band = func(t float64) wearfit.Interval { return l.MeanInterval(t, level) }
		m.next = func(t float64) (i wearfit.Interval) {
			i.Lo, i.Hi = l.PredictWeighted(t, h.nextWeight(), level)
			return i
		}
	}
	return nil
}

// steady fits the line to films whose errors are known; why says what it lacks. It is
// nil where there is none.
func (h hipFilms) steady() (f *TrendFit, why string) {
	var points []Point
	for i := range h.t {
		points = append(points, Point{h.t[i], h.y[i], h.errors.films[i]})
	}
	if f, why = fitSteady(points, h.errors.base, false); f != nil {
		f.carryScale(h.errors.scale)
	}
	return f, why
}

// theilSenLine bears stray films by ranks; see wearfit.FitTheilSen.
var theilSenLine = ModelKind{
	Code: "theil-sen", Name: "Theil-Sen line",
	Steady: true, Least: 2, Robust: true,
	fit: fitTheilSen,
}

func fitTheilSen(m *Model, h hipFilms) error {
	l, err := wearfit.FitTheilSen(h.t, h.y)
	if err != nil {
		return err
	}
	rate := Quantity{Of: h.hip, Model: m.Name, Name: "rate", Unit: unitRate, Value: l.Slope}.within(l.SlopeInterval(level))
	m.told(rate)
	m.Figures = []Quantity{rate}
	m.mean = func(t float64) float64 { return l.Intercept + l.Slope*t }
	return nil
}

// huberLine bears stray films by weights; see wearfit.FitHuber.
var huberLine = ModelKind{
	Code: "huber", Name: "Huber line",
	Steady: true, Least: 3, Robust: true,
	fit: fitHuber,
}

func fitHuber(m *Model, h hipFilms) error {
	one := make([]float64, len(h.t))
	for i := range one {
		one[i] = 1
	}
	l, err := wearfit.FitHuber([][]float64{one, h.t}, h.y)
	if err != nil {
		return err
	}
	rate := estimated(h.hip, m.Name, "rate", unitRate, l.Estimate(1))
	m.told(rate)
	m.Figures = []Quantity{rate}
	m.mean = func(t float64) float64 { return l.Coef[0] + l.Coef[1]*t }
	m.band = func(t float64) wearfit.Interval { return l.Combine([]float64{1, t}).Interval(level) }
	return nil
}

// profiled makes figures whose intervals are of profile likelihood.
func (h hipFilms) profiled(model string, df int) func(what, unit string, v float64, i wearfit.Interval) Quantity {
	return func(what, unit string, v float64, i wearfit.Interval) Quantity {
		return Quantity{Of: h.hip, Model: model, Name: what, Unit: unit, Value: v, DF: float64(df)}.within(i)
	}
}

// brokenLine is two lines that meet at a time which is sought; see wearfit.FitStick.
var brokenLine = ModelKind{
	Code: "stick", Name: "broken line", About: "broken line whose break is sought",
	Least: 5, compared: "broken line, free break",
	fit: fitStick,
}

func fitStick(m *Model, h hipFilms) error {
	s, err := wearfit.FitStick(h.t, h.y, h.w)
	if err != nil {
		return err
	}
	m.From = s.Break
	q := h.profiled(m.Name, s.DF)
	rate := q("rate", unitRate, s.Rate, s.RateInterval(level))
	m.told(rate)
	m.Figures = []Quantity{rate,
		q("early rate", unitRate, s.Early, s.EarlyInterval(level)),
		q("break", unitYear, s.Break, s.BreakInterval(level)),
		counted(h.hip, m.Name, "local minima", len(s.Minima)),
		counted(h.hip, m.Name, "films", s.N),
	}
	if !s.Identifiable() {
		m.Note = "the films do not tell where it breaks"
	}
	m.mean = s.Mean
	m.band = s.Band(level)
	m.next = func(t float64) wearfit.Interval { return s.PredictInterval(t, h.nextWeight(), level) }
	m.reach = func(mm float64) wearfit.Crossing { return s.TimeTo(mm, level) }
	return nil
}

// beddingCurve is bedding-in that dies away beside wear; see wearfit.FitBedding.
var beddingCurve = ModelKind{
	Code: "exp", Name: "bedding-in and line", About: "bedding-in that dies away, and wear",
	Least: 4, compared: "bedding-in and line",
	fit: fitBedding,
}

func fitBedding(m *Model, h hipFilms) error {
	b, err := wearfit.FitBedding(h.t, h.y, h.w)
	if err != nil {
		return err
	}
	q := h.profiled(m.Name, b.DF)
	rate := q("rate", unitRate, b.Rate, b.RateInterval(level))
	m.told(rate)
	tau := q("time constant", unitYear, b.Tau, b.TauInterval(level))
	if !b.Identifiable() {
		tau.Note = "not identifiable"
		m.Note = "the films do not tell bedding-in and wear apart"
	}
	m.Figures = []Quantity{rate,
		q("bedding-in", unitMM, b.Creep, b.CreepInterval(level)),
		tau,
		counted(h.hip, m.Name, "films", b.N),
	}
	m.mean = b.Mean
	m.band = b.Band(level)
	m.next = func(t float64) wearfit.Interval { return b.PredictInterval(t, h.nextWeight(), level) }
	m.reach = func(mm float64) wearfit.Crossing { return b.TimeTo(mm, level) }
	return nil
}
