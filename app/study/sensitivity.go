package study

import (
	"strconv"

	"linerwatch/wearfit"
)

// Varied is the rate of the line when the films in it are others.
type Varied struct {
	Start       float64 // years, from which on films are in the line
	Left        string  // ID of the film left out, where one is
	Years       float64 // of that film
	Films       int     // in the line
	Rate        float64 // mm/year
	Shift       float64 // of the rate against that with all films, where one is left out
	Lo95, Hi95  float64
	HasInterval bool
	Note        Note // why there is no rate
}

// Sensitivity is what a line's rate rests on: how it changes with the start of the
// steady state, and with each film left out.
type Sensitivity struct {
	Starts []Varied // in the order of wearfit.Starts
	Films  []Varied // of those in the line, in date order
	Note   Note     // why no film was left out
}

// Sensitivity tells what the rate of one component rests on.
func (t Trend) Sensitivity(c Component) Sensitivity {
	h := t.films(c)
	s := h.sensitivity()
	k := 0
	for _, p := range t.Penetration {
		if InSteadyState(p.Years, h.start) && k < len(s.Films) {
			s.Films[k].Left = p.Film.ID
			k++
		}
	}
	return s
}

func (h hipFilms) sensitivity() Sensitivity {
	var s Sensitivity
	for _, start := range wearfit.Starts() {
		other := h
		other.start = start
		v := other.late().varied()
		v.Start = start
		s.Starts = append(s.Starts, v)
	}
	late := h.late()
	all, why := late.steady()
	if all == nil {
		s.Note = why
		return s
	}
	for i, years := range late.t {
		v := late.keep(func(k int) bool { return k != i }).varied()
		v.Start, v.Years = h.start, years
		if v.Note.IsZero() {
			v.Shift = v.Rate - all.Rate
		}
		s.Films = append(s.Films, v)
	}
	return s
}

// varied is the rate of the line through the films.
func (h hipFilms) varied() Varied {
	v := Varied{Films: len(h.t)}
	f, why := h.steady()
	if f == nil {
		v.Note = why
		return v
	}
	v.Rate, v.Lo95, v.Hi95, v.HasInterval = f.Rate, f.Lo95, f.Hi95, f.HasInterval
	return v
}

// quantities are the rates with the name of what was varied.
func (s Sensitivity) quantities(hip string) []Quantity {
	var out []Quantity
	add := func(name string, v Varied) {
		q := Quantity{Of: hip, Model: name, Name: "rate", Unit: unitRate, Value: v.Rate}
		switch {
		case !v.Note.IsZero():
			q = q.without(v.Note)
		case v.HasInterval:
			q = q.within(wearfit.Interval{Lo: v.Lo95, Hi: v.Hi95})
		}
		out = append(out, q)
	}
	for _, v := range s.Starts {
		add("line from year "+digits(v.Start), v)
	}
	for _, v := range s.Films {
		add("line without the film of year "+strconv.FormatFloat(v.Years, 'f', 2, 64), v)
	}
	if !s.Note.IsZero() {
		add("line without a film", Varied{Note: s.Note})
	}
	return out
}
