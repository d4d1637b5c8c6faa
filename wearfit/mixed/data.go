package mixed

import (
	"errors"
	"fmt"
	"math"

	"linerwatch/wearfit"
)

// Data is a table of films, one row each, for a mixed model.
type Data struct {
	Hip     []string
	Patient []string // nil: hips are independent
	Time    []float64
	Value   []float64
	Fixed   [][]float64 // columns of the fixed effects, the intercept's ones among them
	Names   []string    // of the columns
}

// ErrOneHip says that a mixed model needs more hips.
var ErrOneHip = errors.New("mixed: a mixed model needs two or more hips")

// ErrFilmsPerHip says that no hip has more films than effects of its own, so
// that its effects and the error cannot be told apart.
var ErrFilmsPerHip = errors.New("mixed: no hip has more films than the effects that vary between hips")

// NestError says that a hip has films under two patients.
type NestError struct{ Hip, First, Second string }

func (e *NestError) Error() string {
	return fmt.Sprintf("mixed: hip %s is listed under patients %s and %s", e.Hip, e.First, e.Second)
}

// check refuses a table that no model can be fitted to.
func (d Data) check() error {
	n, p := len(d.Value), len(d.Fixed)
	switch {
	case len(d.Hip) != n || len(d.Time) != n || (d.Patient != nil && len(d.Patient) != n):
		return &wearfit.LengthError{Times: len(d.Time), Values: n, Weights: len(d.Hip)}
	case p == 0:
		return wearfit.ErrRank
	case n < p+2:
		return &wearfit.TooFewError{N: n, Need: p + 2}
	}
	if err := numbers("time", d.Time); err != nil {
		return err
	}
	if err := numbers("value", d.Value); err != nil {
		return err
	}
	for _, c := range d.Fixed {
		if len(c) != n {
			return &wearfit.LengthError{Times: len(c), Values: n}
		}
		if err := numbers("fixed effect", c); err != nil {
			return err
		}
	}
	return nil
}

// numbers refuses a column that holds what is no number.
func numbers(what string, column []float64) error {
	for i, v := range column {
		if !finite(v) {
			return &wearfit.NonFiniteError{What: what, Index: i, Value: v}
		}
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
