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
	Note        string // what weakens it, or why it could not be fitted
	Fitted      bool
	Figures     []Quantity // all that the model tells; why it tells nothing

	mean  func(t float64) float64
	band  func(t float64) wearfit.Interval  // of the mean; nil for none
	next  func(t float64) wearfit.Interval  // of one further film; nil for none
	reach func(mm float64) wearfit.Crossing // nil for none
	seen  map[float64]wearfit.Interval      // bands asked for
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
// ModelKinds. Films weigh the same.
func (t Trend) Models(c Component) []Model {
	h := t.films(c)
	var out []Model
	for _, k := range modelKinds {
		out = append(out, k.to(h))
	}
	h.rank(out)
	return out
}

// SteadyLine fits the steady-state line to one component of the trend. Films weigh the
// same.
func (t Trend) SteadyLine(c Component) Model { return steadyLine.to(t.films(c)) }

func (t Trend) films(c Component) hipFilms {
	h := hipFilms{start: t.Hip.Start(), errors: &filmErrors{scale: t.scaleSE()}}
	for _, p := range t.Penetration {
		v, _ := p.Along(c)
		se := t.readSE(p.Film.ID, c)
		if p.Film.ID == t.Baseline.ID {
			h.errors.base = se
		}
		h.t, h.y, h.errors.films = append(h.t, p.Years), append(h.y, v), append(h.errors.films, se)
	}
	return h
}

// readSE returns the standard error of a film's own reading along a component, mm; 0
// for a magnitude, which two films do not share a direction for.
func (t Trend) readSE(film string, c Component) float64 {
	for _, m := range t.Films {
		if m.Film.ID != film || m.Status != Measured {
			continue
		}
		sup, med := m.Reading.Offset.SE()
		return map[Component]float64{Superior: sup, Medial: med}[c]
	}
	return 0
}

// rank takes over Akaike's criterion where all films tell it.
func (h hipFilms) rank(models []Model) {
	ranked, err := wearfit.Compare(h.t, h.y, h.w, h.start)
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

// hipFilms is one hip's films as columns.
type hipFilms struct {
	hip     string
	t, y, w []float64 // w is nil where films weigh the same
	start   float64
	errors  *filmErrors // nil where the films' readings are not known
}

// filmErrors are what is known of the errors of films besides their scatter.
type filmErrors struct {
	films []float64 // standard error of each film's own reading, mm
	base  float64   // of the baseline film's, mm
	scale float64   // of the scale that all share, relative
}

func newHipFilms(hip string, points []Point, start float64) hipFilms {
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
	return h
}

// late returns the films in the steady state.
func (h hipFilms) late() hipFilms {
	out := hipFilms{hip: h.hip, start: h.start}
	if h.errors != nil {
		out.errors = &filmErrors{base: h.errors.base, scale: h.errors.scale}
	}
	for i, v := range h.t {
		if !InSteadyState(v, h.start) {
			continue
		}
		if h.errors != nil {
			out.errors.films = append(out.errors.films, h.errors.films[i])
		}
		out.t, out.y = append(out.t, v), append(out.y, h.y[i])
		if h.w != nil {
			out.w = append(out.w, h.w[i])
		}
	}
	return out
}

// nextWeight is the weight of a further film: as precise as the films' root mean
// square.
func (h hipFilms) nextWeight() float64 {
	if h.w == nil {
		return 1
	}
	var v float64
	for _, w := range h.w {
		v += 1 / w / float64(len(h.w))
	}
	return 1 / v
}

// unfitted says why the model could not be fitted.
func (m *Model) unfitted(hip string, err error) {
	m.Note = Plain(err)
	m.Figures = []Quantity{missing(hip, m.Name, "rate", unitRate, err)}
	var few *wearfit.TooFewError
	if errors.As(err, &few) {
		m.Note = "too few films"
	}
}

// exactly is the note on films that have no scatter about a model: no reading is
// so good, so the numbers were made or copied.
const exactly = "the films lie exactly on it: nothing tells its error"

// doubt takes the intervals away from a model that passes through all its films.
func (m *Model) doubt(h hipFilms) {
	if len(h.t) < 3 || !exact(h.t, h.y, m.mean) {
		return
	}
	m.Note, m.HasInterval, m.band, m.next, m.reach = exactly, false, nil, nil, nil
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
