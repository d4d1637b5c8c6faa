package study

import (
	"errors"
	"math"

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

// Components returns every component.
func Components() []Component { return []Component{Superior, Medial, Magnitude} }

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
	ModelKind
	Films       int     // it was fitted to
	From        float64 // years, where its steady state begins; 0 where it has no such time
	Rate        float64 // of the steady state, mm/year
	Lo95, Hi95  float64
	HasInterval bool
	AICc        float64 // over all films
	HasAICc     bool
	Note        Note // what weakens it, or why it could not be fitted
	Fitted      bool
	Figures     []Quantity // all that the model tells; why it tells nothing

	by    Convention // of its intervals
	mean  func(t float64) float64
	band  func(t float64) wearfit.Interval            // of the mean, among the films as they lie; nil for none
	rise  func(t float64) (float64, wearfit.Interval) // since the baseline film, with that film's error; nil for none
	next  func(t float64) wearfit.Interval            // of one further film; nil for none
	reach func(mm float64) wearfit.Crossing           // nil for none
	seen  map[float64]wearfit.Interval                // bands asked for
}

// Mean returns the model's value at years, with the 95 % interval of the mean
// where the model has one; ok says so.
func (m Model) Mean(years float64) (y, lo, hi float64, ok bool) {
	y = m.mean(years)
	if m.band == nil {
		return y, 0, 0, false
	}
	i, had := m.seen[years]
	if !had {
		i = m.band(years)
		m.seen[years] = i
	}
	if i.Open() || !(i.Hi > i.Lo) {
		return y, 0, 0, false
	}
	return y, i.Lo, i.Hi, true
}

// Next returns the 95 % interval of what one further film at years would read;
// ok is false where the model has none, or the films do not tell it.
func (m Model) Next(years float64) (lo, hi float64, ok bool) {
	if m.next == nil {
		return 0, 0, false
	}
	i := m.next(years)
	return i.Lo, i.Hi, !i.Open()
}

// Models fits every model to one component of the trend, in the order of
// ModelKinds.
func (t Trend) Models(c Component) []Model {
	h := t.films(c)
	h.curves = &wearfit.Curves{}
	var out []Model
	for _, k := range modelKinds {
		m := k.to(h)
		m.tellSettling(h)
		out = append(out, m)
	}
	h.rank(out)
	return out
}

// SteadyLine fits the steady-state line to one component of the trend.
func (t Trend) SteadyLine(c Component) Model { return steadyLine.to(t.films(c)) }

// readSE returns the standard error of a film's own reading along a component, without
// what all films share, mm; 0 for a magnitude, which two films do not share a direction
// for.
func (t Trend) readSE(film string, c Component) float64 {
	for _, m := range t.Films {
		if m.Film.ID != film || m.Status != Measured {
			continue
		}
		sup, med := m.Reading.Offset.Own()
		return map[Component]float64{Superior: sup, Medial: med}[c]
	}
	return 0
}

// rank takes over Akaike's criterion where all films tell it.
func (h hipFilms) rank(models []Model) {
	ranked, err := h.compared()
	if err != nil {
		return
	}
	for _, r := range ranked {
		for i := range models {
			if r.Err == nil && r.Model == models[i].compared {
				models[i].AICc, models[i].HasAICc = r.AICc, true
			}
		}
	}
}

// unfitted says why the model could not be fitted.
func (m *Model) unfitted(hip string, err error) {
	m.Note = NoteOf(err)
	m.Figures = []Quantity{missing(hip, m.Name, "rate", unitRate, err)}
	var few *wearfit.TooFewError
	if errors.As(err, &few) {
		m.Note = Note{Code: "model.few-films"}
	}
}

// exactly is the note on films that have no scatter about a model: no reading is
// so good, so the numbers were made or copied.
var exactly = Note{Code: "model.exact"}

// doubt takes the intervals away from a model that passes through all its films.
func (m *Model) doubt(h hipFilms) {
	if len(h.t) < 3 || !exact(h.t, h.y, m.mean) {
		return
	}
	m.Note, m.HasInterval, m.band, m.rise, m.next, m.reach = exactly, false, nil, nil, nil, nil
	for i := range m.Figures {
		q := &m.Figures[i]
		if q.HasInterval || q.SE > 0 {
			q.HasInterval, q.HasP, q.SE, q.Note = false, false, 0, exactly
		}
	}
}

// exact says whether a curve passes through all films but for rounding.
func exact(t, y []float64, mean func(float64) float64) bool {
	var most, size float64
	for i := range t {
		most = max(most, math.Abs(y[i]-mean(t[i])))
		size = max(size, math.Abs(y[i]))
	}
	return most <= 1e-12*size
}

// told takes over the rate and its interval from a figure.
func (m *Model) told(rate Quantity) {
	m.Rate = rate.Value
	if rate.HasInterval && !rate.Interval.Open() {
		m.Lo95, m.Hi95, m.HasInterval = rate.Interval.Lo, rate.Interval.Hi, true
	}
}
