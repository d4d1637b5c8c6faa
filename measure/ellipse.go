package measure

import "math"

// Ellipse is an ellipse in pixel coordinates; the zero value is none.
type Ellipse struct {
	X, Y  float64 // centre
	A, B  float64 // half of the long and of the short axis, px
	Angle float64 // of the long axis from +x towards +y, degrees
}

// Center returns the centre of e.
func (e Ellipse) Center() Point { return Point{e.X, e.Y} }

// At returns the point of e at the parameter t, degrees; 0 is an end of the
// long axis.
func (e Ellipse) At(t float64) Point {
	sin, cos := sincos(t)
	s, c := sincos(e.Angle)
	x, y := e.A*cos, e.B*sin
	return Point{e.X + x*c - y*s, e.Y + x*s + y*c}
}

// Normal returns the outward unit normal at a point on e; of one seen edge-on, across
// its long axis.
func (e Ellipse) Normal(p Point) Point {
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	u, v := (p.X-e.X)*cos+(p.Y-e.Y)*sin, (p.Y-e.Y)*cos-(p.X-e.X)*sin
	x, y := u*e.B*e.B, v*e.A*e.A
	n := math.Hypot(x, y)
	if n == 0 {
		x, y, n = 0, 1, 1
	}
	return Point{(x*cos - y*sin) / n, (x*sin + y*cos) / n}
}

// EllipseFit is an ellipse with the covariance of its X, Y, A, B (px) and Angle
// (radians).
type EllipseFit struct {
	Ellipse
	Cov [5][5]float64
}

// ShellRim is the rim of a metal shell's opening as a film shows it: the ellipse
// that the outer edge of the rim casts. ReadRim and Beam.Rim take its
// EllipseFit; the points of the fit are not kept, since it is one to the picture.
type ShellRim struct {
	EllipseFit
	Seen float64 // share of the near half of the rim that neither head nor neck hides
}

// towards returns the point of e on the ray from its centre through p.
func (e Ellipse) towards(p Point) Point {
	s, c := sincos(e.Angle)
	dx, dy := p.X-e.X, p.Y-e.Y
	k := 1 / math.Hypot((dx*c+dy*s)/e.A, (dy*c-dx*s)/e.B)
	return Point{e.X + k*dx, e.Y + k*dy}
}

// halfTurn returns an angle modulo 180 degrees, in [0, 180).
func halfTurn(deg float64) float64 {
	deg = math.Mod(math.Mod(deg, 180)+180, 180)
	if deg == 180 {
		return 0
	}
	return deg
}
