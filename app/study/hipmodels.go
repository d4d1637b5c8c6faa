package study

import (
	"math"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// Ask is what more FitModels shall tell of each model; the zero value is
// nothing.
type Ask struct {
	// ReachMM is a penetration, mm, above 0: when is it reached? What names it
	// where it is more than a number, such as a part of a liner.
	ReachMM float64
	What    string
	// Percent of a liner's thickness that differs from hip to hip: tables.Models
	// turns it into ReachMM by the liners of its table.
	Percent float64
	// AtYears is a time, above 0: where is the head then, and where would one
	// further film read it?
	AtYears float64
}

// AskLiner asks when a percentage of a liner's thickness is penetrated.
func AskLiner(percent, linerMM float64) Ask {
	return Ask{ReachMM: linerMM * percent / 100, What: digits(percent) + " % of a liner of " + digits(linerMM) + " mm"}
}

// FitModels fits the models that a code asks for, as KindsOf does, to one hip's
// films: the line to those in the steady state, the others to all. With FitAll
// come the comparison of the models on the same films, and how far the rate
// depends on the start and on each film. What is asked of each model follows it,
// where the model tells it; it is arithmetic on the model, not a forecast of what
// becomes of a hip. A code of no model is a quantity that says so.
func FitModels(hip string, points []Point, code string, start float64, ask ...Ask) []Quantity {
	for i, p := range points {
		if why := rowFault(p); !why.IsZero() {
			return []Quantity{Quantity{Of: hip, Model: code, Name: "rate", Unit: unitRate}.without(ofRow(i, why))}
		}
	}
	return newHipFilms(hip, penetrations(points), start).quantities(code, ask...)
}

// Quantities are those of FitModels with FitAll for one component of the trend: the
// numbers of Models, and of Fit where that is the component, with what follows from them.
func (t Trend) Quantities(c Component) []Quantity {
	return t.films(c).quantities(FitAll)
}

func (h hipFilms) quantities(code string, ask ...Ask) []Quantity {
	hip := h.hip
	kinds, err := KindsOf(code)
	if err != nil {
		return []Quantity{missing(hip, code, "rate", unitRate, err)}
	}
	h.curves = &wearfit.Curves{}
	var out []Quantity
	for _, k := range kinds {
		m := k.to(h)
		if code == FitAll {
			m.tellSettling(h)
		}
		if len(h.notes) > 0 && len(m.Figures) > 0 && !m.Robust {
			m.Figures[0].Note = listed(append(h.notes[:len(h.notes):len(h.notes)], m.Figures[0].Note))
		}
		out = append(out, m.Figures...)
		for _, a := range ask {
			out = append(out, m.answer(hip, a)...)
		}
	}
	if code == FitAll {
		out = append(out, h.firstToLast())
		out = append(out, h.compare()...)
		out = append(out, h.sensitivity().quantities(hip)...)
	}
	return out
}

// answer tells what is asked of the model, nothing where it cannot.
func (m Model) answer(hip string, a Ask) []Quantity {
	var out []Quantity
	if a.ReachMM > 0 && m.reach != nil {
		what := a.What
		if what == "" {
			what = digits(a.ReachMM) + " mm"
		}
		out = append(out, reached(Quantity{Of: hip, Model: m.Name, Name: "time to " + what, Unit: unitYear, By: m.by}, m.reach(a.ReachMM)))
	}
	if a.AtYears > 0 && m.next != nil {
		at := " at year " + digits(a.AtYears)
		q := Quantity{Of: hip, Model: m.Name, Name: "penetration" + at, Unit: unitMM, By: m.by}
		film := q
		film.Name, film.Value = "one further film"+at, m.mean(a.AtYears)
		mm, i := m.rise(a.AtYears)
		q.Value = mm
		out = append(out, q.within(i), film.within(m.next(a.AtYears)))
	}
	return out
}

// reached completes q with the time of a crossing. Where the films do not tell
// it, the note says which times they leave; where the model is at the level before
// surgery or never, it says so, and there is no time.
func reached(q Quantity, c wearfit.Crossing) Quantity {
	q.Value = c.At
	switch {
	case len(c.Times) == 0:
		q.Note = Note{Code: "times.never"}
	case c.Told():
		q = q.within(c.Times[0])
		if c.Beyond {
			q.Note = Note{Code: "times.extrapolated"}
		}
	default:
		q = q.within(wearfit.Interval{Lo: c.Times[0].Lo, Hi: c.Times[len(c.Times)-1].Hi})
		q.Note = Note{Code: "times.untold", Values: texts.Values{"Times": timesNote(c.Times)}}
	}
	switch c.State {
	case wearfit.Passed:
		q.Note = listed([]Note{{Code: "times.passed"}, q.Note})
	case wearfit.Never:
		if len(c.Times) > 0 {
			q.Note = listed([]Note{{Code: "times.not-reached"}, q.Note})
		}
	}
	return q
}

// timesNote names times, such as "before year 3 or after year 40, or never".
func timesNote(times []wearfit.Interval) Note {
	n := timeNote(times[0])
	if len(times) == 1 {
		return n
	}
	return Note{Code: "times.or", Values: texts.Values{"One": n, "More": timesNote(times[1:])}}
}

func timeNote(i wearfit.Interval) Note {
	from, to := math.Round(i.Lo*10)/10, math.Round(i.Hi*10)/10
	switch open := math.IsInf(i.Hi, 1); {
	case open && i.Lo <= 0:
		return Note{Code: "times.any"}
	case open:
		return Note{Code: "times.after", Values: texts.Values{"From": from}}
	case i.Lo <= 0:
		return Note{Code: "times.before", Values: texts.Values{"To": to}}
	}
	return Note{Code: "times.between", Values: texts.Values{"From": from, "To": to}}
}

func (h hipFilms) firstToLast() Quantity {
	const name = "first to last"
	late := h.late()
	r, err := wearfit.FirstToLast(late.t, late.y)
	if err != nil {
		return missing(h.hip, name, "rate", unitRate, err)
	}
	return Quantity{Of: h.hip, Model: name, Name: "rate", Unit: unitRate, Value: r}
}

// compared ranks the models on all films, which weigh by their scatter about one line.
func (h hipFilms) compared() ([]wearfit.Ranked, error) {
	h = h.whole()
	_, s, err := wearfit.FitReadings(h.t, h.y, h.se)
	if err != nil {
		return nil, err
	}
	return h.curves.Compare(h.t, h.y, s.Weights(h.se), h.start)
}

func (h hipFilms) compare() []Quantity {
	ranked, err := h.compared()
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
