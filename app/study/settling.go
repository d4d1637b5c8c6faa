package study

import (
	"math"

	"linerwatch/wearfit"
)

// Settling is what the curve over all films tells of bedding-in that outlasts the start of
// the steady state: the line takes the rest of it for wear.
type Settling struct {
	TauYears float64 // time constant of bedding-in
	Tau      wearfit.Interval
	InRate   float64 // part of the line's rate that is bedding-in by the curve, mm/year
	Told     bool    // the films tell the time constant; else nothing here is known
}

// outlasts is the part of a rate's standard error from which a bias is said: with it a 95 %
// interval holds the truth in 94 of 100 cases, by the normal distribution.
const outlasts = 0.3

// Settling compares the line of the superior component with bedding-in that dies away.
func (t Trend) Settling() Settling { return t.films(Superior).settling() }

func (h hipFilms) settling() (s Settling) {
	all := h.whole()
	if len(all.t) < beddingCurve.Least {
		return s
	}
	b, err := h.curves.FitBedding(all.t, all.y, nil)
	if err != nil || !b.Identifiable() {
		return s
	}
	s.Told, s.TauYears, s.Tau = true, b.Tau, b.TauInterval(level)
	late := h.late()
	rest := make([]float64, len(late.t))
	for i, t := range late.t {
		rest[i] = b.Mean(t) - b.Rate*t
	}
	if l, err := wearfit.FitLine(late.t, rest, nil); err == nil {
		s.InRate = l.Slope
	}
	return s
}

// Outlasts says whether bedding-in after the start shifts the rate of f by more than the
// films leave unsaid of it.
func (s Settling) Outlasts(f *TrendFit) bool {
	return s.Told && f != nil && f.HasInterval && math.Abs(s.InRate) > outlasts*f.SE
}

// Bounded says whether nothing tells against bedding-in within the start of f: else its length
// is not told, or it outlasts that, as the note beside the line says.
func (s Settling) Bounded(f *TrendFit) bool { return s.Note(f).IsZero() }

// Note says it beside the line; empty where there is nothing to say.
func (s Settling) Note(f *TrendFit) Note {
	switch {
	case f == nil || !f.HasBedding:
		return Note{}
	case !s.Told:
		return Note{Code: "settling.untold", Values: Values{"Start": f.StartYears}}
	case s.Outlasts(f):
		return Note{Code: "settling.outlasts", Values: Values{"Start": f.StartYears, "Tau": s.TauYears, "Lo": s.Tau.Lo, "Hi": s.Tau.Hi, "InRate": s.InRate}}
	}
	return Note{}
}

// tellSettling adds to the line's model what the curve tells of it.
func (m *Model) tellSettling(h hipFilms) {
	if m.Code != LineModel || !m.Fitted {
		return
	}
	f, _ := h.late().steady()
	note := h.settling().Note(f)
	m.Note = listed([]Note{m.Note, note})
	m.Figures[0].Note = listed([]Note{m.Figures[0].Note, note})
}
