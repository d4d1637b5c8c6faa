package measure

import (
	"math"

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

// ellipseFit is an ellipse fitted to points.
type ellipseFit struct {
	Ellipse
	residuals []float64
	cov       [5][5]float64 // of X, Y, A, B, px, and the angle, radians
}

// fitEllipse minimises the weighted sum of squared orthogonal distances by
// Gauss-Newton from a start that is right to a few px; t holds each point's
// parameter on the start. Weights of zero leave a point out.
func fitEllipse(points []Point, t, weights []float64, e Ellipse) (ellipseFit, bool) {
	f := ellipseFit{Ellipse: e, residuals: make([]float64, len(points))}
	var n int
	for _, w := range weights {
		if w > 0 {
			n++
		}
	}
	if n < 12 {
		return f, false
	}
	size := math.Inf(1)
	for range 25 {
		chol, step, cost, ok := f.step(points, t, weights)
		if !ok {
			return f, false
		}
		f.X += step[0]
		f.Y += step[1]
		f.A += step[2]
		f.B += step[3]
		f.Angle += step[4] * 180 / math.Pi
		if !isFinite(f.X, f.Y, f.A, f.B, f.Angle) || f.A < 2 || math.Abs(f.X-e.X)+math.Abs(f.Y-e.Y) > e.A {
			return f, false
		}
		f.B = max(f.B, 0.01*f.A)
		size = max(math.Abs(step[0]), math.Abs(step[1]), math.Abs(step[2]))
		if size > 1e-3 {
			continue
		}
		var inv mat.SymDense
		if chol.InverseTo(&inv) != nil {
			return f, false
		}
		for i := range f.cov {
			for j := range f.cov[i] {
				f.cov[i][j] = inv.At(i, j) * cost / float64(n-5)
			}
		}
		break
	}
	// What has not settled to a thousandth of a px is no ellipse.
	return f, size <= 1e-3 && f.B < f.A && f.cov[0][0] > 0
}

// step returns the Gauss-Newton step of X, Y, A, B and the angle (radians), and
// fills in the residuals.
func (f *ellipseFit) step(points []Point, t, weights []float64) (chol mat.Cholesky, step [5]float64, cost float64, ok bool) {
	var sums [25]float64 // the upper triangle
	var g [5]float64
	s, c := math.Sincos(f.Angle * math.Pi / 180)
	for i, p := range points {
		at, d := f.nearest(p, t[i])
		t[i], f.residuals[i] = at, d
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
