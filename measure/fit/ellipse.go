package fit

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"linerwatch/measure"
)

// nearest returns the parameter of the point of e nearest to p and the signed
// distance, positive outside. It starts at the parameter t.
func nearest(e measure.Ellipse, p measure.Point, t float64) (at, distance float64) {
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

// ErrTooFewForEllipse is the error of fewer points than Ellipse asks for.
var ErrTooFewForEllipse = errors.New("measure: fewer than 12 points")

// Ellipse fits an ellipse by minimising the weighted sum of squared orthogonal
// distances of the points to it, by Gauss-Newton from a start that is right to a
// few px. It ends when no step is larger than a thousandth of a px. weights are
// relative and may be nil; a point of weight zero is left out, with its residual.
// t holds each point's parameter on the start, degrees, is brought up to date, and
// may be nil.
//
// The errors are ErrTooFewForEllipse, and ErrNotEllipse where none is found near the
// start or a coordinate is not a number.
func Ellipse(points []measure.Point, t, weights []float64, start measure.Ellipse) (measure.EllipseFit, error) {
	e := start
	f := measure.EllipseFit{Ellipse: e, Points: points, Residuals: make([]float64, len(points))}
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
			return f, measure.ErrNotEllipse
		}
		f.X += step[0]
		f.Y += step[1]
		f.A += step[2]
		f.B += step[3]
		f.Angle += step[4] * 180 / math.Pi
		if !measure.Finite(f.X, f.Y, f.A, f.B, f.Angle) || f.A < 2 || math.Abs(f.X-e.X)+math.Abs(f.Y-e.Y) > e.A {
			return f, measure.ErrNotEllipse
		}
		f.B = max(f.B, 0.01*f.A)
		f.RMS = math.Sqrt(cost / total)
		size = max(math.Abs(step[0]), math.Abs(step[1]), math.Abs(step[2]))
		if size > 1e-3 {
			continue
		}
		var inv mat.SymDense
		if chol.InverseTo(&inv) != nil {
			return f, measure.ErrNotEllipse
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
		return f, measure.ErrNotEllipse
	}
	return f, nil
}

// parameters returns the parameter on e of each point as seen from its centre.
func parameters(points []measure.Point, e measure.Ellipse) []float64 {
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
func ellipseStep(f *measure.EllipseFit, points []measure.Point, t, weights []float64) (chol mat.Cholesky, step [5]float64, cost float64, ok bool) {
	var sums [25]float64 // the upper triangle
	var g [5]float64
	s, c := math.Sincos(f.Angle * math.Pi / 180)
	for i, p := range points {
		at, d := nearest(f.Ellipse, p, t[i])
		t[i], f.Residuals[i] = at, d
		if weights[i] == 0 {
			continue
		}
		q, n := f.Frame(at)
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
