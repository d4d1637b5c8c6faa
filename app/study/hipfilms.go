package study

import (
	"math"
	"slices"

	"linerwatch/wearfit"
)

// hipFilms is one hip's films as columns: penetrations, counted from the baseline film.
// All that follows from them, the line, the curves and what they foretell, takes the
// errors of the readings from here.
type hipFilms struct {
	hip   string
	t, y  []float64 // years since surgery, mm
	se    []float64 // of each film's own reading, mm; nil where one is not known
	base  baseFilm
	scale float64 // relative standard error of the scale, which all share
	start float64 // years, where the steady state begins
	notes []Note

	curves *wearfit.Curves // that are fitted to them already; nil keeps none
}

// baseFilm is the film that penetrations are counted from. Its error is in every one of
// them; it cancels in a rate.
type baseFilm struct {
	row   int // among the films; -1 where it is not one of them
	years float64
	se    float64 // of its own reading, mm; 0 where it is not known
}

// newHipFilms takes films from a table's rows. The penetrations count from a baseline
// that the table need not list: an earliest row of exactly 0 mm is that film; else it is
// taken to be at surgery.
func newHipFilms(hip string, points []Point, start float64) hipFilms {
	h := hipFilms{hip: hip, start: start, base: baseFilm{row: -1}}
	first := 0
	for i, p := range points {
		h.t, h.y, h.scale = append(h.t, p.Years), append(h.y, p.MM), max(h.scale, p.SEScale)
		if p.Years < points[first].Years {
			first = i
		}
	}
	if len(points) > 0 && points[first].MM == 0 {
		h.base.row, h.base.years = first, points[first].Years
	}
	h.readErrors(points)
	return h
}

// readErrors takes the errors of the films' own readings from those of the penetrations,
// which hold the baseline film's too.
func (h *hipFilms) readErrors(points []Point) {
	known, unknown := 0, 0
	se := make([]float64, len(points))
	for i, p := range points {
		h.base.se = max(h.base.se, p.SEBase)
		switch {
		case i == h.base.row:
			h.base.se = max(h.base.se, p.SE)
			continue
		case p.SE > 0:
			known++
		default:
			unknown++
		}
		se[i] = math.Sqrt(p.SE*p.SE - p.SEBase*p.SEBase)
	}
	switch {
	case known == 0:
		h.base.se = 0
		return
	case unknown > 0:
		h.base.se = 0
		h.notes = append(h.notes, Note{Code: "rate.some-se"})
		return
	}
	h.se = se
	if h.base.se == 0 {
		h.notes = append(h.notes, Note{Code: "rate.no-base-se"})
	}
	if h.base.row >= 0 {
		se[h.base.row] = h.baseSE()
	}
}

// baseSE returns the error of the baseline film's reading, that of the others where it is
// not known.
func (h hipFilms) baseSE() float64 {
	if h.base.se > 0 {
		return h.base.se
	}
	return wearfit.RMS(h.others())
}

// others returns the errors of the films without the baseline's.
func (h hipFilms) others() []float64 {
	if h.base.row < 0 || h.se == nil {
		return h.se
	}
	return slices.Delete(slices.Clone(h.se), h.base.row, h.base.row+1)
}

// films returns the trend's films for one component. A magnitude's errors are not known:
// two films do not share a direction for it.
func (t Trend) films(c Component) hipFilms {
	h := hipFilms{hip: t.Hip.ID, start: t.Hip.Start(), scale: t.ScaleSE(), base: baseFilm{row: -1}}
	known := true
	for i, p := range t.Penetration {
		v, _ := p.Along(c)
		se := t.readSE(p.Film.ID, c)
		if i == t.base {
			h.base = baseFilm{row: i, years: p.Years, se: se}
		}
		known = known && se > 0
		h.t, h.y, h.se = append(h.t, p.Years), append(h.y, v), append(h.se, se)
	}
	if !known {
		h.se, h.base.se = nil, 0
	}
	return h
}

// BaselineSE returns the standard errors of the baseline film's own reading, mm, which
// every penetration of the hip holds; 0 without one.
func (t Trend) BaselineSE() (superior, medial float64) {
	return t.readSE(t.Baseline.ID, Superior), t.readSE(t.Baseline.ID, Medial)
}

// inside says whether the baseline film is one of those in the steady state, so that no
// bedding-in was seen.
func (h hipFilms) inside() bool {
	return h.base.row >= 0 && InSteadyState(h.base.years, h.start)
}

// keep returns the films that is says so of.
func (h hipFilms) keep(is func(i int) bool) hipFilms {
	out := h
	out.t, out.y, out.se, out.base.row = nil, nil, nil, -1
	for i := range h.t {
		if !is(i) {
			continue
		}
		if i == h.base.row {
			out.base.row = len(out.t)
		}
		out.t, out.y = append(out.t, h.t[i]), append(out.y, h.y[i])
		if h.se != nil {
			out.se = append(out.se, h.se[i])
		}
	}
	return out
}

// late returns the films in the steady state.
func (h hipFilms) late() hipFilms {
	return h.keep(func(i int) bool { return InSteadyState(h.t[i], h.start) })
}

// whole returns the films with the baseline film among them, first where it was not listed.
func (h hipFilms) whole() hipFilms {
	if h.base.row >= 0 {
		return h
	}
	h.base.row = 0
	h.t, h.y = append([]float64{h.base.years}, h.t...), append([]float64{0}, h.y...)
	if h.se != nil {
		h.se = append([]float64{h.baseSE()}, h.se...)
	}
	return h
}

// scatter balances the films' errors against their scatter about a curve of some
// parameters, whose fit returns its weighted sum of squares; see wearfit.Balance.
func (h hipFilms) scatter(parameters int, fit func(w []float64) (rss float64, err error)) (wearfit.Scatter, error) {
	return wearfit.Balance(h.se, len(h.t)-parameters, fit)
}

// nextWeight is the weight of a further film: as precise as the films' root mean square.
func (h hipFilms) nextWeight(s wearfit.Scatter) float64 { return s.Weight(wearfit.RMS(h.se)) }
