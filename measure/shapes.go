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
func (c Circle) Distance(p Point) float64 { return math.Hypot(p.X-c.X, p.Y-c.Y) - c.R }

// Distance returns the distance of two points, px.
func (p Point) Distance(q Point) float64 { return math.Hypot(p.X-q.X, p.Y-q.Y) }
