package measure

import (
	"fmt"
	"slices"
)

// ArcError is the error of points that cover too little of a circle to tell
// its centre from its radius.
type ArcError struct{ Arc float64 } // degrees

func (e *ArcError) Error() string { return fmt.Sprintf("measure: arc too short: %.0f deg", e.Arc) }

// MinArc is the shortest arc that tells a circle, degrees. At 20 degrees the
// standard error of the centre along the bisector is some 60 times the scatter
// of 60 edge points (Kanatani 1998, the lower bound).
const MinArc = 20

// Arc returns the degrees of c's outline that points cover. A gap of more than 10
// degrees, half of MinArc, and more than three times the median gap, is not covered. The error is
// *ArcError where less than MinArc lies between the first of them and the last.
func (c Circle) Arc(points []Point) (arc float64, err error) {
	angles := make([]float64, len(points))
	for i, p := range points {
		angles[i] = atan2(p.Y-c.Y, p.X-c.X)
	}
	slices.Sort(angles)
	gaps := make([]float64, 0, len(angles))
	for i, a := range angles {
		gap := angles[0] + 360 - a
		if i+1 < len(angles) {
			gap = angles[i+1] - a
		}
		if gap > 1e-9 {
			gaps = append(gaps, gap)
		}
	}
	if len(gaps) == 0 {
		return 0, &ArcError{}
	}
	slices.Sort(gaps)
	limit := max(MinArc/2, 3*gaps[len(gaps)/2])
	arc = 360
	for _, gap := range gaps {
		if gap > limit {
			arc -= gap
		}
	}
	extent := 360.0
	if most := gaps[len(gaps)-1]; most > limit || len(gaps) < 4 {
		extent -= most
	}
	if extent < MinArc {
		return arc, &ArcError{extent}
	}
	return arc, nil
}
