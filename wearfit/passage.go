package wearfit

import "math"

// Passage says whether a curve reaches a level from its start on: the operation for a
// line, the baseline film for a curve that begins there.
type Passage int

// The passages of a level.
const (
	Ahead  Passage = iota // from the start on, at Crossing.At
	Passed                // at the start the curve is at the level already, or beyond it
	Never                 // at no time from the start on
)

// passage tells it from the time at which the curve is first at the level and from its
// value at the start; a curve is beyond a level that lies between it and 0.
func passage(at, start, level float64) Passage {
	switch {
	case level >= 0 && start >= level, level < 0 && start <= level:
		return Passed
	case at >= 0 && !math.IsInf(at, 1):
		return Ahead
	}
	return Never
}
