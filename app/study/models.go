package study

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// Component is a part of the penetration that is followed over time.
type Component int

// The components. A rate is given of the signed ones only: a magnitude is never
// negative and reads too high where it is small.
const (
	Superior Component = iota
	Medial
	Magnitude
)

// String returns the component's word.
func (c Component) String() string { return [...]string{"superior", "medial", "magnitude"}[c] }

// Along returns a component of the penetration and its standard error, mm.
func (p Penetration) Along(c Component) (mm, se float64) {
	sup, med := p.SE()
	switch c {
	case Medial:
		return p.Medial, med
	case Magnitude:
		return p.Magnitude()
	}
	return p.Vector.Superior, sup
}

// Model is one model of the penetration over time, fitted to a hip's films.
type Model struct {
	Name        string
	Films       int     // it was fitted to
	From        float64 // years, where its steady state begins; 0 where it has no such time
	Rate        float64 // of the steady state, mm/year
	Lo95, Hi95  float64
	HasInterval bool
	AICc        float64 // over all films
	HasAICc     bool
	Note        string // what weakens it, or why it could not be fitted
	Fitted      bool

	mean func(t float64) wearfit.Estimate
}

// Mean returns the model's value at years, with the 95 % interval of the mean
// where the model has one; ok says so.
func (m Model) Mean(years float64) (y, lo, hi float64, ok bool) {
	e := m.mean(years)
	if !(e.SE > 0) || !(e.DF > 0) || math.IsInf(e.SE, 0) {
		return e.Value, 0, 0, false
	}
	i := e.Interval(level)
	return e.Value, i.Lo, i.Hi, true
}

// Models fits every model to one component of the trend: the line through the
// steady state, two lines that are robust against a stray film, the broken line
// and the bedding-in curve. Films weigh the same.
func (t Trend) Models(c Component) []Model {
	var years, mm, late, lateMM []float64
	for _, p := range t.Penetration {
		v, _ := p.Along(c)
		years, mm = append(years, p.Years), append(mm, v)
		if p.InLine {
			late, lateMM = append(late, p.Years), append(lateMM, v)
		}
	}
	start := t.Hip.Start()
	out := []Model{
		fitted("line from the start", start, late, lateMM, lineModel),
		fitted("Theil-Sen line", start, late, lateMM, theilSenModel),
		fitted("Huber line", start, late, lateMM, huberModel),
		fitted("broken line", 0, years, mm, stickModel),
		fitted("bedding-in curve and line", 0, years, mm, beddingModel),
	}
	rank(out, years, mm, start)
	return out
}

// rank takes over Akaike's criterion where all films tell it.
func rank(models []Model, years, mm []float64, start float64) {
	ranked, err := wearfit.Compare(years, mm, nil, start)
	if err != nil {
		return
	}
	names := map[string]string{"broken line, free break": "broken line", "bedding-in and line": "bedding-in curve and line"}
	for _, r := range ranked {
		for i := range models {
			if r.Err == nil && names[r.Model] == models[i].Name {
				models[i].AICc, models[i].HasAICc = r.AICc, true
			}
		}
	}
}

func fitted(name string, from float64, t, y []float64, fit func(m *Model, t, y []float64) error) Model {
	m := Model{Name: name, From: from, Films: len(t)}
	err := fit(&m, t, y)
	var few *wearfit.TooFewError
	switch {
	case errors.As(err, &few):
		m.Note = "too few films"
	case err != nil:
		m.Note = trimPackage(err)
	default:
		m.Fitted = true
	}
	return m
}

func trimPackage(err error) string {
	const p = "wearfit: "
	s := err.Error()
	if len(s) > len(p) && s[:len(p)] == p {
		return s[len(p):]
	}
	return s
}

func (m *Model) interval(i wearfit.Interval) {
	if !i.Open() && !math.IsNaN(i.Lo) && !math.IsNaN(i.Hi) {
		m.Lo95, m.Hi95, m.HasInterval = i.Lo, i.Hi, true
	}
}

func lineModel(m *Model, t, y []float64) error {
	l, err := wearfit.FitLine(t, y, nil)
	if err != nil {
		return err
	}
	m.Rate = l.Slope
	if l.DF > 0 {
		lo, hi := l.SlopeInterval(level)
		m.interval(wearfit.Interval{Lo: lo, Hi: hi})
	}
	m.mean = func(x float64) wearfit.Estimate {
		v, se := l.Mean(x)
		return wearfit.Estimate{Value: v, SE: se, DF: float64(l.DF)}
	}
	return nil
}

func theilSenModel(m *Model, t, y []float64) error {
	l, err := wearfit.FitTheilSen(t, y)
	if err != nil {
		return err
	}
	m.Rate = l.Slope
	m.interval(l.SlopeInterval(level))
	m.mean = func(x float64) wearfit.Estimate { return wearfit.Estimate{Value: l.Intercept + l.Slope*x} }
	return nil
}

func huberModel(m *Model, t, y []float64) error {
	one := make([]float64, len(t))
	for i := range one {
		one[i] = 1
	}
	h, err := wearfit.FitHuber([][]float64{one, t}, y)
	if err != nil {
		return err
	}
	e := h.Estimate(1)
	m.Rate = e.Value
	m.interval(e.Interval(level))
	m.mean = func(x float64) wearfit.Estimate {
		return wearfit.Estimate{Value: h.Coef[0] + h.Coef[1]*x, SE: spread(h.Cov, []float64{1, x}), DF: float64(h.DF)}
	}
	return nil
}

func stickModel(m *Model, t, y []float64) error {
	s, err := wearfit.FitStick(t, y, nil)
	if err != nil {
		return err
	}
	m.Rate, m.From = s.Rate, s.Break
	m.interval(s.RateInterval(level))
	if !s.Identifiable() {
		m.Note = "the films do not tell where it breaks"
	}
	m.mean = func(x float64) wearfit.Estimate {
		before, after := min(x, s.Break), max(x-s.Break, 0)
		e := wearfit.Estimate{Value: s.Intercept + s.Early*before + s.Rate*after, DF: float64(s.DF)}
		g := []float64{1, before, after, 0}
		if x > s.Break {
			g[3] = s.Early - s.Rate
		}
		e.SE = spread(s.Cov, g)
		return e
	}
	return nil
}

func beddingModel(m *Model, t, y []float64) error {
	b, err := wearfit.FitBedding(t, y, nil)
	if err != nil {
		return err
	}
	m.Rate = b.Rate
	m.interval(b.RateInterval(level))
	if !b.Identifiable() {
		m.Note = "the films do not tell bedding-in and wear apart"
	}
	m.mean = func(x float64) wearfit.Estimate {
		left := math.Exp(-x / b.Tau)
		return wearfit.Estimate{Value: b.Mean(x), DF: float64(b.DF),
			SE: spread(b.Cov, []float64{1 - left, x, -b.Creep * x / b.Tau * left})}
	}
	return nil
}

// spread returns the standard error of g·θ, 0 where the covariance is unknown.
func spread(cov *mat.SymDense, g []float64) float64 {
	if cov == nil {
		return 0
	}
	v := mat.NewVecDense(cov.SymmetricDim(), g[:cov.SymmetricDim()])
	return math.Sqrt(max(0, mat.Inner(v, cov, v)))
}
