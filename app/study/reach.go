package study

import (
	"math"

	"linerwatch/wearfit"
)

// TimeToReach is the time at which the steady-state line of a hip reaches a
// penetration, with Fieller's interval; where the films do not tell it, the note
// says which times they leave. It is arithmetic on the line, not a forecast of
// what becomes of a hip.
func TimeToReach(hip string, points []Point, start, mm float64) Quantity {
	h := hipFilms{hip: hip, start: start}
	for _, p := range points {
		h.t, h.y = append(h.t, p.Years), append(h.y, p.MM)
	}
	name := "time to " + digits(mm) + " mm"
	const model = "line from start"
	t, y, _ := h.late()
	l, err := wearfit.FitLine(t, y, nil)
	if err != nil {
		return missing(hip, model, name, unitYear, err)
	}
	r := l.TimeTo(mm, level)
	q := Quantity{Of: hip, Model: model, Name: name, Unit: unitYear, Value: r.At, DF: float64(l.DF)}
	switch r.Shape {
	case wearfit.ShapeInterval:
		q.Interval, q.HasInterval = wearfit.Interval{Lo: r.Lo, Hi: r.Hi}, true
		if r.Beyond {
			q.Note = "after the last film: extrapolated"
		}
	case wearfit.ShapeTwoRays:
		q = q.within(wearfit.Interval{Lo: r.Hi, Hi: math.Inf(1)})
		q.Note = "cannot be told: before year " + years1(r.Lo) + " or after year " + years1(r.Hi) + ", or never"
	default:
		q = q.within(wearfit.Unbounded())
		q.Note = "cannot be told: at any time, or never"
	}
	return q
}

func years1(v float64) string { return digits(math.Round(v*10) / 10) }
