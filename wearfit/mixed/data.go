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

	// What is known of the readings' errors; nil where nothing is. SE is the standard
	// error of each reading's own error, to which the model adds what it does not
	// explain. BaseSE is that of an error that all films of a hip share, as the
	// baseline film's is by all penetrations that count from it: the same on every
	// film of a hip.
	SE, BaseSE []float64
	// Class names what the residual variance goes by, such as the reader; nil: one
	// for all.
	Class []string
	// Film names the film of each reading within its hip where films were read more
	// than once: an effect of its own for each film. nil: every row is a film.
	Film []string
}

// plain says that sums over each hip's films are all that the likelihood needs.
func (d Data) plain() bool {
	return d.SE == nil && d.BaseSE == nil && d.Class == nil && d.Film == nil
}

// ErrOneHip says that a mixed model needs more hips.
var ErrOneHip = errors.New("wearfit: a mixed model needs two or more hips")

// ErrFilmsPerHip says that no hip has more films than effects of its own, so
// that its effects and the error cannot be told apart.
var ErrFilmsPerHip = errors.New("wearfit: no hip has more films than the effects that vary between hips")

// NestError says that a hip has films under two patients.
type NestError struct{ Hip, First, Second string }

func (e *NestError) Error() string {
	return fmt.Sprintf("wearfit: hip %s is listed under patients %s and %s", e.Hip, e.First, e.Second)
}

// ErrRepeats says that no film was read twice, so that films and readings cannot
// be told apart.
var ErrRepeats = errors.New("wearfit: no film was read more than once")

// ManyError says that a patient has more readings than the model can hold at once.
type ManyError struct {
	Hip     string // the first of the patient's
	N, Most int
}

func (e *ManyError) Error() string {
	return fmt.Sprintf("wearfit: %d readings of one patient (hip %s), at most %d", e.N, e.Hip, e.Most)
}

// BaseError says that a hip has two different errors that all its films share.
type BaseError struct {
	Hip           string
	First, Second float64
}

func (e *BaseError) Error() string {
	return fmt.Sprintf("wearfit: hip %s has two errors of its baseline film: %g and %g", e.Hip, e.First, e.Second)
}

// ErrSE says that an analysis needs a standard error above 0 of every reading.
var ErrSE = errors.New("wearfit: every reading needs a standard error above 0")

// SEError names a standard error that is negative, infinite or no number.
type SEError struct {
	Index int
	Value float64
}

func (e *SEError) Error() string {
	return fmt.Sprintf("wearfit: standard error %d is not one (%v)", e.Index+1, e.Value)
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
	return d.checkErrors()
}

// checkErrors refuses what is said of the readings' errors.
func (d Data) checkErrors() error {
	n := len(d.Value)
	for _, c := range [][]float64{d.SE, d.BaseSE} {
		if c == nil {
			continue
		}
		if len(c) != n {
			return &wearfit.LengthError{Times: len(c), Values: n}
		}
		for i, v := range c {
			if !finite(v) || v < 0 {
				return &SEError{i, v}
			}
		}
	}
	for _, c := range [][]string{d.Class, d.Film} {
		if c != nil && len(c) != n {
			return &wearfit.LengthError{Times: len(c), Values: n}
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
