package study

import (
	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// VectorPoint is one film's penetration in both components. SE and SEMedial are 0
// where unknown.
type VectorPoint struct {
	Point    // the superior component
	MedialMM float64
	SEMedial float64
}

// FitVector fits both components of one hip together, to the films in the steady
// state: the rate of each, the rate along a direction that was stated beforehand
// (degrees from superior, medial positive), and the length of the rate, which is
// below detection where films without wear would give as long a one. Where all
// films have standard errors they are weighted by them.
func FitVector(hip string, points []VectorPoint, start, direction float64) []Quantity {
	const name = "line in both components"
	var t, s, m []float64
	var covs []wearfit.Cov2
	known := true
	for _, p := range points {
		if !InSteadyState(p.Years, start) {
			continue
		}
		t, s, m = append(t, p.Years), append(s, p.MM), append(m, p.MedialMM)
		covs = append(covs, wearfit.Cov2{SS: p.SE * p.SE, MM: p.SEMedial * p.SEMedial})
		known = known && p.SE > 0 && p.SEMedial > 0
	}
	if !known {
		covs = nil
	}
	v, err := wearfit.FitVector(t, s, m, covs)
	if err != nil {
		return []Quantity{missing(hip, name, "rate", unitRate, err)}
	}
	line := func(k int) func(float64) float64 {
		return func(t float64) float64 { return v.Intercept[k] + v.Slope[k]*t }
	}
	if covs == nil && (exact(t, s, line(0)) || exact(t, m, line(1))) {
		return []Quantity{missing(hip, name, "rate", unitRate, wearfit.ErrNoScatter)}
	}
	speed := v.Speed(level)
	length := Quantity{Of: hip, Model: name, Name: "length of the rate", Unit: unitRate, Value: speed.Value, DF: v.DF}.within(speed.Interval)
	limit := Quantity{Of: hip, Model: name, Name: "detection limit of that length", Unit: unitRate, Value: speed.Limit}
	way := Quantity{Of: hip, Model: name, Name: "direction of the rate, from superior, medial +", Unit: "degrees", Value: v.Direction()}
	if speed.Below {
		length.Note = Note{Code: "quantity.below", Values: texts.Values{"Limit": speed.Limit}}
		way = way.without(Note{Code: "quantity.no-way"})
	}
	return []Quantity{
		estimated(hip, name, "superior rate", unitRate, v.Along(0)),
		estimated(hip, name, "medial rate", unitRate, v.Along(90)),
		estimated(hip, name, "rate along "+digits(direction)+" degrees", unitRate, v.Along(direction)),
		length, limit, way,
		counted(hip, name, "films", v.N),
	}
}
