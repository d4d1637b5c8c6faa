package measure

import (
	"fmt"
	"math"
	"slices"
)

// Point is a position on a film in pixels: (0, 0) is the top-left corner of
// the top-left pixel, x grows to the right and y downwards.
type Point struct{ X, Y float64 }

// Circle is a circle in pixel coordinates.
type Circle struct{ X, Y, R float64 }

// Center returns the centre of c.
func (c Circle) Center() Point { return Point{c.X, c.Y} }

// Distance returns the signed distance of p to the outline of c, in pixels,
// positive outside.
func (c Circle) Distance(p Point) float64 { return p.Distance(c.Center()) - c.R }

// Distance returns the distance of two points, px.
func (p Point) Distance(q Point) float64 {
	dx, dy := p.X-q.X, p.Y-q.Y
	return math.Sqrt(dx*dx + dy*dy)
}

// CircleFit is a circle fitted to points, with the evidence.
type CircleFit struct {
	Circle
	// Cov is the covariance of X, Y, R in square pixels. Three points leave no residual
	// to tell it from; it is then zero and means unknown.
	Cov [3][3]float64
	// Shared is the part of Cov that is the same on every film of one hip, so
	// that it leaves the difference of two films; fit.Circle knows of none.
	Shared    [3][3]float64
	Points    []Point   // the points fitted
	Residuals []float64 // signed orthogonal distance of each point, px, positive outside
	Arc       float64   // degrees of the outline covered by the points
	RMS       float64   // weighted root mean square of the residuals, px
}

// ArcError is the error of points that cover too little of a circle to tell
// its centre from its radius.
type ArcError struct{ Arc float64 } // degrees

func (e *ArcError) Error() string { return fmt.Sprintf("measure: arc too short: %.0f deg", e.Arc) }

// Says tells the arc.
func (e *ArcError) Says() Note { return Note{Code: "shape.arc", Values: Values{"Degrees": e.Arc}} }

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
