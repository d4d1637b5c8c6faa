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
	Code: LineModel, Name: "steady-state line", Title: "model.line", About: "model.line.about",
	Steady: true, Least: 2,
	fit: fitLine,
}

func fitLine(m *Model, h hipFilms) error {
	if len(h.t) < m.Least {
		return &wearfit.TooFewError{N: len(h.t), Need: m.Least}
	}
	f, why := h.steady()
	if f == nil {
		return &NoteError{Note: why}
	}
	m.Note = why
	if f.IntervalFrom == FromReadings {
		m.Note = Note{Code: "model.two-readings"}
	}
	l := f.steady
	rate := estimated(h.hip, m.Name, "rate", unitRate, l.Rate())
	bedding := estimated(h.hip, m.Name, "bedding-in", unitMM, l.Bedding())
	if f.HasInterval {
		m.by = BySteady
		rate.Parts, bedding.Parts = l.RateParts(), l.BeddingParts()
		rate, bedding = rate.within(l.RateInterval(level)).made(m.by), bedding.within(l.BeddingInterval(level)).made(m.by)
	}
	if !f.HasBedding {
		bedding = bedding.without(Note{Code: "quantity.no-bedding"})
	}
	m.told(rate)
	m.Figures = []Quantity{rate, bedding, counted(h.hip, m.Name, "films", f.Line.N)}
	m.mean = func(t float64) float64 { return f.Line.Intercept + f.Line.Slope*t }
	m.rise = func(t float64) (float64, wearfit.Interval) {
		return l.Rise(t).Value, l.RiseInterval(t, level)
	}
	m.reach = func(mm float64) wearfit.Crossing { return l.TimeTo(mm, level) }
	if f.HasInterval {
		m.band = func(t float64) wearfit.Interval { return f.Line.MeanInterval(t, level) }
		m.next = func(t float64) wearfit.Interval { return l.Next(t, level) }
	}
	return nil
}

// theilSenLine bears stray films by ranks; see wearfit.FitTheilSen.
var theilSenLine = ModelKind{
	Code: "theil-sen", Name: "Theil-Sen line", Title: "model.theil-sen",
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
	Code: "huber", Name: "Huber line", Title: "model.huber",
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

// profiled makes figures whose intervals are of profile likelihood; those in mm have the
// scale's error too.
func (h hipFilms) profiled(model string, df int) func(what, unit string, v float64, i wearfit.Interval) Quantity {
	return func(what, unit string, v float64, i wearfit.Interval) Quantity {
		var parts wearfit.Parts
		if unit != unitYear {
			i = scaled(v, i, h.scale)
			parts.Scale = math.Abs(h.scale * v)
		}
		return Quantity{Of: h.hip, Model: model, Name: what, Unit: unit, Value: v, DF: float64(df), Parts: parts}.within(i).made(ByProfileF)
	}
}

// risen is the rise of a curve with its interval, the scale's error among it.
func (h hipFilms) risen(rise func(t float64) float64, band func(t, level float64) wearfit.Interval) func(t float64) (float64, wearfit.Interval) {
	return func(t float64) (float64, wearfit.Interval) {
		v, i := rise(t), band(t, level)
		i = scaled(v, i, h.scale)
		return v, i
	}
}

// brokenLine is two lines that meet at a time which is sought; see wearfit.FitStick.
var brokenLine = ModelKind{
	Code: "stick", Name: "broken line", Title: "model.stick", About: "model.stick.about",
	Least: 5, compared: "broken line, free break",
	fit: fitStick,
}

func fitStick(m *Model, h hipFilms) error {
	e, err := h.scatter(4, func(w []float64) (float64, error) {
		return wearfit.StickRSS(h.t, h.y, w)
	})
	if err != nil {
		return err
	}
	s, err := h.curves.FitStick(h.t, h.y, e.Weights(h.se))
	if err != nil {
		return err
	}
	s = s.Since(h.base.years)
	m.From = s.Break
	m.by = ByProfileF
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
		m.Note = Note{Code: "model.no-break"}
	}
	m.mean = s.Mean
	m.band = s.Band(level)
	m.rise = h.risen(s.Rise, s.RiseInterval)
	m.next = func(t float64) wearfit.Interval { return s.PredictInterval(t, h.nextWeight(e), level) }
	m.reach = func(mm float64) wearfit.Crossing { return s.TimeTo(mm, level) }
	return nil
}

// beddingCurve is bedding-in that dies away beside wear; see wearfit.FitBedding.
var beddingCurve = ModelKind{
	Code: "exp", Name: "bedding-in and line", Title: "model.exp", About: "model.exp.about",
	Least: 5, compared: "bedding-in and line",
	fit: fitBedding,
}

func fitBedding(m *Model, h hipFilms) error {
	e, err := h.scatter(4, wearfit.BeddingRSS(h.t, h.y))
	if err != nil {
		return err
	}
	b, err := h.curves.FitBedding(h.t, h.y, e.Weights(h.se))
	if err != nil {
		return err
	}
	b = b.Since(h.base.years)
	m.by = ByProfileF
	q := h.profiled(m.Name, b.DF)
	rate := q("rate", unitRate, b.Rate, b.RateInterval(level))
	m.told(rate)
	tau := q("time constant", unitYear, b.Tau, b.TauInterval(level))
	if !b.Identifiable() {
		tau.Note = Note{Code: "quantity.open"}
		m.Note = Note{Code: "model.no-bedding"}
	}
	m.Figures = []Quantity{rate,
		q("bedding-in", unitMM, b.Creep, b.CreepInterval(level)),
		tau,
		counted(h.hip, m.Name, "films", b.N),
	}
	m.mean = b.Mean
	m.band = b.Band(level)
	m.rise = h.risen(b.Rise, b.RiseInterval)
	m.next = func(t float64) wearfit.Interval { return b.PredictInterval(t, h.nextWeight(e), level) }
	m.reach = func(mm float64) wearfit.Crossing { return b.TimeTo(mm, level) }
	return nil
}
