package study

import (
	"math"
	"strings"

	"linerwatch/wearfit"
)

// The models that FitModels fits, in the words of the command line.
const (
	FitLineOnly = "line"
	FitStick    = "stick"
	FitExp      = "exp"
	FitAll      = "all"
)

const (
	unitRate = "mm/year"
	unitMM   = "mm"
	unitYear = "years"
)

// FitModels fits the model to one hip's films: the line to those in the steady
// state, the others to all. With FitAll come the robust lines, the comparison of
// the models on the same films, and how far the rate depends on the start and on
// each film.
func FitModels(hip string, points []Point, model string, start float64) []Quantity {
	h := hipFilms{hip: hip, start: start}
	weighted := true
	for _, p := range points {
		weighted = weighted && p.SE > 0
	}
	for _, p := range points {
		h.t, h.y = append(h.t, p.Years), append(h.y, p.MM)
		if weighted {
			h.w = append(h.w, 1/(p.SE*p.SE))
		}
	}
	switch model {
	case FitStick:
		return h.stick()
	case FitExp:
		return h.exp()
	case FitAll:
		q := append(h.line(), h.stick()...)
		q = append(q, h.exp()...)
		q = append(q, h.robust()...)
		q = append(q, h.compare()...)
		return append(q, h.sensitivity()...)
	}
	return h.line()
}

// hipFilms is one hip's films as columns.
type hipFilms struct {
	hip     string
	t, y, w []float64
	start   float64
}

// late returns the films in the steady state.
func (h hipFilms) late() (t, y, w []float64) {
	for i, v := range h.t {
		if !InSteadyState(v, h.start) {
			continue
		}
		t, y = append(t, v), append(y, h.y[i])
		if h.w != nil {
			w = append(w, h.w[i])
		}
	}
	return t, y, w
}

func (h hipFilms) line() []Quantity {
	const name = "line from start"
	t, y, w := h.late()
	l, err := wearfit.FitLine(t, y, w)
	if err != nil {
		return []Quantity{missing(h.hip, name, "rate", unitRate, err)}
	}
	df := float64(l.DF)
	if l.DF == 0 && w != nil {
		l, df = l.WithSigma(1), math.Inf(1) // the readings' own errors
	}
	return []Quantity{
		estimated(h.hip, name, "rate", unitRate, wearfit.Estimate{Value: l.Slope, SE: l.SESlope, DF: df}),
		estimated(h.hip, name, "bedding-in", unitMM, wearfit.Estimate{Value: l.Intercept, SE: l.SEIntercept, DF: df}),
		counted(h.hip, name, "films", l.N),
	}
}

// profiled makes quantities whose intervals are of profile likelihood.
func (h hipFilms) profiled(model string, df int) func(what, unit string, v float64, i wearfit.Interval) Quantity {
	return func(what, unit string, v float64, i wearfit.Interval) Quantity {
		return Quantity{Of: h.hip, Model: model, Name: what, Unit: unit, Value: v, DF: float64(df)}.within(i)
	}
}

func (h hipFilms) stick() []Quantity {
	const name = "broken line"
	s, err := wearfit.FitStick(h.t, h.y, h.w)
	if err != nil {
		return []Quantity{missing(h.hip, name, "rate", unitRate, err)}
	}
	q := h.profiled(name, s.DF)
	return []Quantity{
		q("rate", unitRate, s.Rate, s.RateInterval(level)),
		q("early rate", unitRate, s.Early, s.EarlyInterval(level)),
		q("break", unitYear, s.Break, s.BreakInterval(level)),
		counted(h.hip, name, "local minima", len(s.Minima)),
		counted(h.hip, name, "films", s.N),
	}
}

func (h hipFilms) exp() []Quantity {
	const name = "bedding-in and line"
	b, err := wearfit.FitBedding(h.t, h.y, h.w)
	if err != nil {
		return []Quantity{missing(h.hip, name, "rate", unitRate, err)}
	}
	q := h.profiled(name, b.DF)
	tau := q("time constant", unitYear, b.Tau, b.TauInterval(level))
	if !b.Identifiable() {
		tau.Note = "not identifiable"
	}
	return []Quantity{
		q("rate", unitRate, b.Rate, b.RateInterval(level)),
		q("bedding-in", unitMM, b.Creep, b.CreepInterval(level)),
		tau,
		counted(h.hip, name, "films", b.N),
	}
}

func (h hipFilms) robust() []Quantity {
	t, y, _ := h.late()
	var out []Quantity
	if l, err := wearfit.FitTheilSen(t, y); err != nil {
		out = append(out, missing(h.hip, "Theil-Sen line", "rate", unitRate, err))
	} else {
		q := Quantity{Of: h.hip, Model: "Theil-Sen line", Name: "rate", Unit: unitRate, Value: l.Slope}
		out = append(out, q.within(l.SlopeInterval(level)))
	}
	one := make([]float64, len(t))
	for i := range one {
		one[i] = 1
	}
	if l, err := wearfit.FitHuber([][]float64{one, t}, y); err != nil {
		out = append(out, missing(h.hip, "Huber line", "rate", unitRate, err))
	} else {
		out = append(out, estimated(h.hip, "Huber line", "rate", unitRate, l.Estimate(1)))
	}
	if r, err := wearfit.FirstToLast(t, y); err != nil {
		out = append(out, missing(h.hip, "first to last", "rate", unitRate, err))
	} else {
		out = append(out, Quantity{Of: h.hip, Model: "first to last", Name: "rate", Unit: unitRate, Value: r})
	}
	return out
}

func (h hipFilms) compare() []Quantity {
	ranked, err := wearfit.Compare(h.t, h.y, h.w, h.start)
	if err != nil {
		return []Quantity{missing(h.hip, "comparison", "AICc", "", err)}
	}
	var out []Quantity
	for _, r := range ranked {
		name := "on all films: " + r.Model
		if r.Err != nil {
			out = append(out, missing(h.hip, name, "AICc", "", r.Err))
			continue
		}
		out = append(out, Quantity{Of: h.hip, Model: name, Name: "AICc", Value: r.AICc},
			Quantity{Of: h.hip, Model: name, Name: "weight", Value: r.Weight})
	}
	return out
}

func (h hipFilms) sensitivity() []Quantity {
	var out []Quantity
	for _, s := range wearfit.SensitivityToStart(h.t, h.y, h.w, wearfit.Starts()) {
		name := "line from year " + digits(s.Start)
		if s.Err != nil {
			out = append(out, missing(h.hip, name, "rate", unitRate, s.Err))
			continue
		}
		out = append(out, estimated(h.hip, name, "rate", unitRate,
			wearfit.Estimate{Value: s.Line.Slope, SE: s.Line.SESlope, DF: float64(s.Line.DF)}))
	}
	t, y, w := h.late()
	dropped, err := wearfit.SensitivityToFilms(t, y, w)
	if err != nil {
		return append(out, missing(h.hip, "line without a film", "rate", unitRate, err))
	}
	for _, d := range dropped {
		name := "line without the film of year " + digits(t[d.Index])
		if d.Err != nil {
			out = append(out, missing(h.hip, name, "rate", unitRate, d.Err))
			continue
		}
		out = append(out, Quantity{Of: h.hip, Model: name, Name: "rate", Unit: unitRate, Value: d.Line.Slope})
	}
	return out
}

// plain is an error without the package's name.
func plain(err error) string { return strings.TrimPrefix(err.Error(), "wearfit: ") }
