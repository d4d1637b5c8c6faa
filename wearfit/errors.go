package wearfit

import (
	"errors"
	"fmt"
	"math"
)

// Faults of the data given to a fit. TooFewError, NonFiniteError and
// WeightError carry more; errors.As finds them.
var (
	// ErrEqualTimes says that all times are the same, so that no slope exists.
	ErrEqualTimes = errors.New("wearfit: all times are equal, no slope can be fitted")
	// ErrBeforeSurgery says that a curve that starts at time zero was given an
	// earlier observation.
	ErrBeforeSurgery = errors.New("wearfit: a film lies before time zero, the operation")
	// ErrNoScatter says that the values do not scatter, so that no error can
	// be taken from them.
	ErrNoScatter = errors.New("wearfit: the values do not scatter, no error can be taken from them")
	// ErrBreak says that a known break has too few different times before or
	// after it for a line on each side.
	ErrBreak = errors.New("wearfit: too few different times before or after the break")
	// ErrUnsettled says that a robust fit did not come to rest, as with so few
	// films that it may pass through all but one.
	ErrUnsettled = errors.New("wearfit: the robust fit does not settle")
	// ErrRange says that the values are too large or too close together for
	// the arithmetic of float64.
	ErrRange = errors.New("wearfit: values out of the range that can be fitted")
)

// TooFewError says that a fit needs more observations than it was given.
type TooFewError struct{ N, Need int }

func (e *TooFewError) Error() string {
	return fmt.Sprintf("wearfit: too few films: %d, need %d", e.N, e.Need)
}

// NonFiniteError names the value that is NaN or infinite.
type NonFiniteError struct {
	What  string // "time", "value" or "weight"
	Index int
	Value float64
}

func (e *NonFiniteError) Error() string {
	return fmt.Sprintf("wearfit: %s %d is not a finite number (%v)", e.What, e.Index+1, e.Value)
}

// WeightError names a weight that is zero or negative. A film is left out by
// not passing it, never by a zero weight.
type WeightError struct {
	Index int
	Value float64
}

func (e *WeightError) Error() string {
	return fmt.Sprintf("wearfit: weight %d is not positive (%v)", e.Index+1, e.Value)
}

// LengthError says that the columns of a table differ in length.
type LengthError struct{ Times, Values, Weights int }

func (e *LengthError) Error() string {
	return fmt.Sprintf("wearfit: columns differ in length: %d times, %d values, %d weights",
		e.Times, e.Values, e.Weights)
}

// check refuses data that no line can be fitted to.
func check(t, y, w []float64, need int) error {
	if len(y) != len(t) || (w != nil && len(w) != len(t)) {
		return &LengthError{len(t), len(y), len(w)}
	}
	if len(t) < need {
		return &TooFewError{len(t), need}
	}
	for _, col := range []struct {
		name string
		v    []float64
	}{{"time", t}, {"value", y}, {"weight", w}} {
		for i, v := range col.v {
			if !finite(v) {
				return &NonFiniteError{col.name, i, v}
			}
		}
	}
	for i, v := range w {
		if v <= 0 {
			return &WeightError{i, v}
		}
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// TooFewTimesError says that a fit needs observations at more different times.
type TooFewTimesError struct{ N, Need int }

func (e *TooFewTimesError) Error() string {
	return fmt.Sprintf("wearfit: too few different times: %d, need %d", e.N, e.Need)
}
