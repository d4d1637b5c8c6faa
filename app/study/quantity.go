package study

import (
	"math"

	"linerwatch/wearfit"
)

// Quantity is one number of an analysis, with what it is and how sure it is.
type Quantity struct {
	Of    string // the hip, group or pair of readers; empty for the whole table
	Model string
	Name  string // such as "rate"
	Unit  string // such as "mm/year"; empty for a pure number
	Value float64
	SE    float64 // 0 where there is none
	DF    float64 // 0 where there are none, +Inf where the error is known
	// Interval at 95 %; an end that the data do not tell is infinite. HasInterval
	// is false for a quantity without one.
	Interval    wearfit.Interval
	HasInterval bool
	P           float64 // of the hypothesis that the value is 0; with HasP
	HasP        bool
	// Parts are the standard errors of which Interval is made, by the convention BySteady; of
	// another interval that holds the scale's error Scale is that alone.
	Parts Parts
	Note  Note
	By    Convention // what made the number, where more than one way is in use
}

// Parts are the standard errors that an interval is made of.
type Parts = wearfit.Parts

// Interval is that of a quantity.
type Interval = wearfit.Interval

// Exists says whether there is a value; Note says why not.
func (q Quantity) Exists() bool { return !math.IsInf(q.Value, 0) }

// Counts says whether the value is a number of things, as counted makes it.
func (q Quantity) Counts() bool {
	return q.Exists() && q.Unit == "" && q.SE == 0 && !q.HasInterval && q.Value == math.Trunc(q.Value)
}

// missing is a quantity that could not be had.
func missing(of, model, name, unit string, why error) Quantity {
	return Quantity{Of: of, Model: model, Name: name, Unit: unit}.without(NoteOf(why))
}

// without is a quantity that could not be had, and why.
func (q Quantity) without(why Note) Quantity {
	q.Value, q.Note = math.Inf(1), why
	return q
}

func counted(of, model, name string, n int) Quantity {
	return Quantity{Of: of, Model: model, Name: name, Value: float64(n)}
}

// estimated takes value, error and interval from an estimate.
func estimated(of, model, name, unit string, e wearfit.Estimate) Quantity {
	q := Quantity{Of: of, Model: model, Name: name, Unit: unit, Value: e.Value, DF: e.DF}
	if e.DF > 0 && !math.IsInf(e.SE, 1) {
		q.SE = e.SE
		q = q.within(e.Interval(level))
		if e.SE > 0 {
			q.P, q.HasP = e.P(0), true
		}
	}
	return q
}

func (q Quantity) within(i wearfit.Interval) Quantity {
	q.Interval, q.HasInterval = i, true
	if i.Open() {
		q.Note = Note{Code: "quantity.open"}
	}
	return q
}

// made says by which convention a number was made.
func (q Quantity) made(by Convention) Quantity {
	q.By = by
	return q
}

// noted adds to what a note says.
func (q Quantity) noted(codes ...string) Quantity {
	notes := []Note{q.Note}
	for _, c := range codes {
		notes = append(notes, Note{Code: c})
	}
	q.Note = listed(notes)
	return q
}
