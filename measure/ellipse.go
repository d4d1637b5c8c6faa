package measure

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Ellipse is an ellipse in pixel coordinates; the zero value is none.
type Ellipse struct {
	X, Y  float64 // centre
	A, B  float64 // half of the long and of the short axis, px
	Angle float64 // of the long axis from +x towards +y, degrees
}

// At returns the point of e at the parameter t, degrees; 0 is an end of the
// long axis.
func (e Ellipse) At(t float64) Point {
	p, _ := e.frame(t)
	return p
}

// frame returns the point at t and the unit normal there, outward.
func (e Ellipse) frame(t float64) (p, normal Point) {
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

// nearest returns the parameter of the point of e nearest to p and the signed
// distance, positive outside. It starts at the parameter t.
func (e Ellipse) nearest(p Point, t float64) (at, distance float64) {
	s, c := math.Sincos(e.Angle * math.Pi / 180)
	x, y := (p.X-e.X)*c+(p.Y-e.Y)*s, (p.Y-e.Y)*c-(p.X-e.X)*s
	t *= math.Pi / 180
	for round := 0; ; round++ {
		sin, cos := math.Sincos(t)
		dx, dy := x-e.A*cos, y-e.B*sin
		nx, ny := e.B*cos, e.A*sin // the normal times speed
		speed := max(1e-9, math.Sqrt(nx*nx+ny*ny))
		move := (dy*nx - dx*ny) / (speed * speed)
		if round == 8 || math.Abs(move) < 2e-6 {
			return t * 180 / math.Pi, (dx*nx + dy*ny) / speed
		}
		t += 0.8 * max(-0.17, min(0.17, move))
	}
}

// ErrTooFewForEllipse is the error of fewer points than FitEllipse asks for.
var ErrTooFewForEllipse = errors.New("measure: fewer than 12 points")

// FitEllipse fits an ellipse by minimising the weighted sum of squared orthogonal
// distances of the points to it, by Gauss-Newton from a start that is right to a
// few px. It ends when no step is larger than a thousandth of a px. weights are
// relative and may be nil; a point of weight zero is left out, with its residual.
// t holds each point's parameter on the start, degrees, is brought up to date, and
// may be nil.
//
// The errors are ErrTooFewForEllipse, and ErrNotEllipse where none is found near the
// start or a coordinate is not a number.
func FitEllipse(points []Point, t, weights []float64, start Ellipse) (EllipseFit, error) {
	e := start
	f := EllipseFit{Ellipse: e, Points: points, Residuals: make([]float64, len(points))}
	if weights == nil {
		weights = slices.Repeat([]float64{1}, len(points))
	}
	if t == nil {
		t = parameters(points, e)
	}
	var n int
	var total float64
	for _, w := range weights {
		if w > 0 {
			n++
			total += w
		}
	}
	if n < 12 {
		return f, ErrTooFewForEllipse
	}
	size := math.Inf(1)
	for range 25 {
		chol, step, cost, ok := ellipseStep(&f, points, t, weights)
		if !ok {
			return f, ErrNotEllipse
		}
		f.X += step[0]
		f.Y += step[1]
		f.A += step[2]
		f.B += step[3]
		f.Angle += step[4] * 180 / math.Pi
		if !isFinite(f.X, f.Y, f.A, f.B, f.Angle) || f.A < 2 || math.Abs(f.X-e.X)+math.Abs(f.Y-e.Y) > e.A {
			return f, ErrNotEllipse
		}
		f.B = max(f.B, 0.01*f.A)
		f.RMS = math.Sqrt(cost / total)
		size = max(math.Abs(step[0]), math.Abs(step[1]), math.Abs(step[2]))
		if size > 1e-3 {
			continue
		}
		var inv mat.SymDense
		if chol.InverseTo(&inv) != nil {
			return f, ErrNotEllipse
		}
		for i := range f.Cov {
			for j := range f.Cov[i] {
				f.Cov[i][j] = inv.At(i, j) * cost / float64(n-5)
			}
		}
		break
	}
	// What has not settled to a thousandth of a px is no ellipse.
	if !(size <= 1e-3 && f.B < f.A && f.Cov[0][0] > 0) {
		return f, ErrNotEllipse
	}
	return f, nil
}

// parameters returns the parameter on e of each point as seen from its centre.
func parameters(points []Point, e Ellipse) []float64 {
	t := make([]float64, len(points))
	s, c := math.Sincos(e.Angle * math.Pi / 180)
	for i, p := range points {
		u, v := (p.X-e.X)*c+(p.Y-e.Y)*s, (p.Y-e.Y)*c-(p.X-e.X)*s
		t[i] = math.Atan2(v*e.A, u*e.B) * 180 / math.Pi
	}
	return t
}

// ellipseStep returns the Gauss-Newton step of X, Y, A, B and the angle (radians), and
// fills in the residuals.
func ellipseStep(f *EllipseFit, points []Point, t, weights []float64) (chol mat.Cholesky, step [5]float64, cost float64, ok bool) {
	var sums [25]float64 // the upper triangle
	var g [5]float64
	s, c := math.Sincos(f.Angle * math.Pi / 180)
	for i, p := range points {
		at, d := f.nearest(p, t[i])
		t[i], f.Residuals[i] = at, d
		if weights[i] == 0 {
			continue
		}
		q, n := f.frame(at)
		sin, cos := math.Sincos(at * math.Pi / 180)
		u := [5]float64{
			n.X, n.Y,
			cos * (n.X*c + n.Y*s),
			sin * (n.Y*c - n.X*s),
			n.Y*(q.X-f.X) - n.X*(q.Y-f.Y),
		}
		for j := range u {
			g[j] += weights[i] * u[j] * d
			for k := j; k < 5; k++ {
				sums[5*j+k] += weights[i] * u[j] * u[k]
			}
		}
		cost += weights[i] * d * d
	}
	if !chol.Factorize(mat.NewSymDense(5, sums[:])) || chol.Cond() > 1e14 {
		return chol, step, cost, false
	}
	var x mat.VecDense
	if chol.SolveVecTo(&x, mat.NewVecDense(5, g[:])) != nil {
		return chol, step, cost, false
	}
	for i := range step {
		step[i] = x.AtVec(i)
	}
	return chol, step, cost, true
}

// EllipseFit is an ellipse fitted to points, with the evidence.
type EllipseFit struct {
	Ellipse
	// Cov is the covariance of X, Y, A, B (px) and Angle (radians): s² (J'WJ)⁻¹,
	// with s² the weighted sum of squared residuals over n - 5.
	Cov       [5][5]float64
	Points    []Point   // the points fitted
	Residuals []float64 // signed orthogonal distance of each point, px, positive outside
	RMS       float64   // weighted root mean square of the residuals, px
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
