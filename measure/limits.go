package measure

import (
	"fmt"
	"math"
)

func Finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// RangeError is the error of a number that a formula cannot take.
type RangeError struct {
	Quantity string  // "penetration"
	Value    float64 // in Unit
	Unit     string  // "mm"; may be empty
	Need     string  // "must not be negative"
}

func (e *RangeError) Error() string {
	unit := e.Unit
	if unit != "" {
		unit = " " + unit
	}
	return fmt.Sprintf("measure: %s of %g%s %s", e.Quantity, e.Value, unit, e.Need)
}

// Says tells the quantity and what it must be.
func (e *RangeError) Says() Note {
	return Note{Code: "shape.range", Values: Values{"Quantity": e.Quantity, "Value": e.Value, "Unit": e.Unit, "Need": e.Need}}
}

// Positive returns a *RangeError unless v is finite and greater than zero.
func Positive(quantity string, v float64, unit string) error {
	if v > 0 && Finite(v) {
		return nil
	}
	return &RangeError{quantity, v, unit, "must be positive"}
}

// within returns a *RangeError unless low <= v <= high.
func within(quantity string, v float64, unit string, low, high float64) error {
	if v >= low && v <= high {
		return nil
	}
	return &RangeError{quantity, v, unit, fmt.Sprintf("must lie in %g to %g", low, high)}
}

// Errors of shapes and of the geometry of a hip. Test for them with errors.Is.
var (
	ErrNotFinite   = Fault("shape.not-finite", nil)
	ErrCoincident  = Fault("shape.coincident", nil)
	ErrNotEllipse  = Fault("shape.not-ellipse", nil)
	ErrNoSide      = Fault("shape.no-side", nil)
	ErrNoDirection = Fault("shape.no-direction", nil)
)
