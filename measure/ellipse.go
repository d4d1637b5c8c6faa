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
	p, _ := e.Frame(t)
	return p
}

// Frame returns the point at t and the unit normal there, outward.
func (e Ellipse) Frame(t float64) (p, normal Point) {
	sin, cos := math.Sincos(t * math.Pi / 180)
	s, c := math.Sincos(e.Angle * math.Pi / 180)
	x, y := e.A*cos, e.B*sin
	nx, ny := e.B*cos, e.A*sin
	n := math.Hypot(nx, ny)
	if n == 0 {
		n = 1
	}
	p = Point{e.X + x*c - y*s, e.Y + x*s + y*c}
	normal = Point{(nx*c - ny*s) / n, (nx*s + ny*c) / n}
	return p, normal
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

	Opening float64 // towards which the shell opens, degrees from +x towards +y
	Depth   float64 // of the rim beyond the shell's centre along its axis, px; below 0 for less than a hemisphere
	SEDepth float64
	Wall    float64 // thickness of the shell, px
	Seen    float64 // share of the near half of the rim that neither head nor neck hides
}

// foot returns the point of e nearest to p and the signed distance, positive
// outside: the root of a monotone function, found by bisection within the first
// quadrant and Newton's method (Eberly D. Distance from a point to an ellipse.
// Geometric Tools 2013).
func (e Ellipse) foot(p Point) (Point, float64) {
	s, c := sincos(e.Angle)
	dx, dy := p.X-e.X, p.Y-e.Y
	u, v := dx*c+dy*s, dy*c-dx*s
	x, y := footQuadrant(e.A, e.B, math.Abs(u), math.Abs(v))
	d := math.Hypot(math.Abs(u)-x, math.Abs(v)-y)
	if (u/e.A)*(u/e.A)+(v/e.B)*(v/e.B) < 1 {
		d = -d
	}
	x, y = math.Copysign(x, u), math.Copysign(y, v)
	return Point{e.X + x*c - y*s, e.Y + x*s + y*c}, d
}

// footQuadrant returns the foot of (u, v), both at least zero, on the ellipse
// with semi-axes a >= b.
func footQuadrant(a, b, u, v float64) (x, y float64) {
	if v == 0 {
		if k := a*a - b*b; a*u < k {
			x = a * a * u / k
			return x, b * math.Sqrt(max(0, 1-x*x/(a*a)))
		}
		return a, 0
	}
	if u == 0 {
		return 0, b
	}
	z0, z1, r := u/a, v/b, (a/b)*(a/b)
	n0 := r * z0
	low, high := z1-1, math.Hypot(n0, z1)-1
	if z0*z0+z1*z1 < 1 {
		high = 0
	} else {
		low = max(low, 0)
	}
	t := (low + high) / 2
	for range 200 {
		p, q := n0/(t+r), z1/(t+1)
		g := p*p + q*q - 1
		if g > 0 {
			low = t
		} else {
			high = t
		}
		next := t + g/(2*(p*p/(t+r)+q*q/(t+1)))
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		if next == t || math.Abs(next-t) <= 1e-15*(1+math.Abs(t)) {
			break
		}
		t = next
	}
	return r * u / (t + r), v / (t + 1)
}

// halfTurn returns an angle modulo 180 degrees, in [0, 180).
func halfTurn(deg float64) float64 {
	deg = math.Mod(math.Mod(deg, 180)+180, 180)
	if deg == 180 {
		return 0
	}
	return deg
}
