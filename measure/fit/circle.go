package fit

import (
	"errors"
	"math"
	"slices"

	"linerwatch/measure"
)

// Errors of points of which no circle is told. Test for them with errors.Is.
var (
	ErrTooFewPoints = errors.New("measure: fewer than 3 points")
	ErrUntold       = errors.New("measure: the points do not tell a circle")
)

// Circle fits a circle to points that err alike, from a start near by: it minimises the
// sum of squared orthogonal distances. The errors are ErrTooFewPoints, ErrUntold and
// *measure.ArcError.
func Circle(points []measure.Point, start measure.Circle) (f measure.CircleFit, err error) {
	n := len(points)
	if n < 3 {
		return f, ErrTooFewPoints
	}
	weights := slices.Repeat([]float64{1}, n)
	c, ok := CircleFrom(points, weights, start)
	if !ok || !(c.R > 0) {
		return f, ErrUntold
	}
	f = measure.CircleFit{Circle: c, Points: slices.Clone(points), Residuals: make([]float64, n)}
	if f.Arc, err = c.Arc(points, nil); err != nil {
		return f, err
	}
	for i, p := range points {
		f.Residuals[i] = c.Distance(p)
	}
	s := equations(points, weights, c)
	f.RMS = math.Sqrt(s.cost / float64(n))
	var inv [3][3]float64
	if !measure.Finite(s.cost) || !GaussJordan(s.a[:], inv[:]) {
		return f, ErrUntold
	}
	for i := range inv {
		for j := range inv[i] {
			f.Cov[i][j] = inv[i][j] * s.cost / float64(max(1, n-3))
		}
	}
	return f, nil
}

// CircleFrom minimises the weighted sum of squared orthogonal distances from c by
// Levenberg-Marquardt.
func CircleFrom(points []measure.Point, w []float64, c measure.Circle) (measure.Circle, bool) {
	now := equations(points, w, c)
	lambda := 1e-6
	for range 300 {
		a := now.a
		for i := range a {
			a[i][i] *= 1 + lambda
		}
		step, ok := Solve(a[:], now.g)
		if !ok {
			return c, false
		}
		next := measure.Circle{X: c.X + step[0], Y: c.Y + step[1], R: c.R + step[2]}
		if size := max(math.Abs(step[0]), math.Abs(step[1]), math.Abs(step[2])); size <= 1e-12*(1+c.R) || lambda > 1e9 {
			break
		}
		if then := equations(points, w, next); next.R > 0 && then.cost <= now.cost*(1+1e-15) {
			c, now = next, then
			lambda /= 10
		} else {
			lambda *= 100
		}
	}
	return c, measure.Finite(c.X, c.Y, c.R)
}

// system holds the normal equations of the distances d at a circle: a is J'WJ
// and g is -J'Wd with respect to X, Y, R, cost is d'Wd.
type system struct {
	a    [3][3]float64
	g    [3]float64
	cost float64
}

// equations sums the system at c. A point on the centre pulls only the radius.
func equations(points []measure.Point, w []float64, c measure.Circle) (s system) {
	for i, p := range points {
		dx, dy, wi := p.X-c.X, p.Y-c.Y, w[i]
		d := math.Sqrt(dx*dx + dy*dy)
		var ux, uy float64 // from centre to point
		if d > 0 {
			ux, uy = dx/d, dy/d
		}
		e := d - c.R
		s.a[0][0] += wi * ux * ux
		s.a[0][1] += wi * ux * uy
		s.a[0][2] += wi * ux
		s.a[1][1] += wi * uy * uy
		s.a[1][2] += wi * uy
		s.a[2][2] += wi
		s.g[0] += wi * ux * e
		s.g[1] += wi * uy * e
		s.g[2] += wi * e
		s.cost += wi * e * e
	}
	s.a[1][0], s.a[2][0], s.a[2][1] = s.a[0][1], s.a[0][2], s.a[1][2]
	return s
}

// Through returns the circle through three points, where measure.CircleThrough has one.
func Through(p, q, r measure.Point) (measure.Circle, bool) {
	c, err := measure.CircleThrough([3]measure.Point{p, q, r})
	return c, err == nil
}
