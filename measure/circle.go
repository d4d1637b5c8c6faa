package measure

import "math"

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
