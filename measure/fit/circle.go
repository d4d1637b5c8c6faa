package fit

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"linerwatch/measure"
)

// Errors of Circle, beside those of package measure. Test for them with errors.Is.
var (
	ErrTooFewPoints = errors.New("measure: fewer than 3 points")
	ErrCollinear    = errors.New("measure: points lie on a line")
)

// Circle fits a circle by minimising the weighted sum of squared orthogonal
// distances of the points to the circle. weights are relative and may be nil;
// a point of weight zero is kept in Points and Residuals without taking part.
//
// It starts from the fit of Taubin (1991) on centred and scaled data and
// follows with Levenberg-Marquardt steps. The errors are ErrTooFewPoints,
// ErrCollinear, measure.ErrCoincident, measure.ErrNotFinite and
// *measure.ArcError.
func Circle(points []measure.Point, weights []float64) (measure.CircleFit, error) {
	w, n, err := checkWeights(points, weights)
	if err != nil {
		return measure.CircleFit{}, err
	}
	mean, scale, err := spread(points, w)
	if err != nil {
		return measure.CircleFit{}, err
	}
	local := make([]measure.Point, len(points))
	for i, p := range points {
		local[i] = measure.Point{X: (p.X - mean.X) / scale, Y: (p.Y - mean.Y) / scale}
	}
	c, ok := taubin(local, w)
	if !ok {
		return measure.CircleFit{}, ErrCollinear
	}
	c, ok = CircleFrom(local, w, c)
	if !ok || c.R > 1e5 {
		return measure.CircleFit{}, ErrCollinear
	}
	f := measure.CircleFit{
		Circle:    measure.Circle{X: mean.X + scale*c.X, Y: mean.Y + scale*c.Y, R: scale * c.R},
		Points:    slices.Clone(points),
		Residuals: make([]float64, len(points)),
	}
	if f.Arc, err = c.Arc(local, w); err != nil {
		return measure.CircleFit{}, err
	}
	var sum, total float64
	for i, p := range local {
		r := c.Distance(p)
		f.Residuals[i] = scale * r
		sum += w[i] * r * r
		total += w[i]
	}
	f.RMS = scale * math.Sqrt(sum/total)
	a := equations(local, w, c).a
	var inv [3][3]float64
	if !GaussJordan(a[:], inv[:]) {
		return measure.CircleFit{}, ErrCollinear
	}
	if n > 3 {
		v := scale * scale * sum / float64(n-3)
		for i := range inv {
			for j := range inv[i] {
				f.Cov[i][j] = v * inv[i][j]
			}
		}
	}
	return f, nil
}

// checkWeights returns usable weights and the number of points that take part.
func checkWeights(points []measure.Point, weights []float64) (w []float64, n int, err error) {
	if weights != nil && len(weights) != len(points) {
		return nil, 0, fmt.Errorf("measure: %d weights for %d points", len(weights), len(points))
	}
	w = make([]float64, len(points))
	for i, p := range points {
		w[i] = 1
		if weights != nil {
			w[i] = weights[i]
		}
		if !(w[i] >= 0) || !measure.Finite(w[i], p.X, p.Y) {
			return nil, 0, measure.ErrNotFinite
		}
		if w[i] > 0 {
			n++
		}
	}
	if n < 3 {
		return nil, 0, ErrTooFewPoints
	}
	return w, n, nil
}

// spread returns the weighted mean and the root mean square distance from it,
// and refuses points that coincide or lie on a line to within rounding.
func spread(points []measure.Point, w []float64) (mean measure.Point, scale float64, err error) {
	var total, xx, xy, yy, far float64
	for i, p := range points {
		total += w[i]
		mean.X += w[i] * p.X
		mean.Y += w[i] * p.Y
		far = max(far, math.Abs(p.X), math.Abs(p.Y))
	}
	mean.X /= total
	mean.Y /= total
	for i, p := range points {
		dx, dy := p.X-mean.X, p.Y-mean.Y
		xx += w[i] * dx * dx
		xy += w[i] * dx * dy
		yy += w[i] * dy * dy
	}
	xx, xy, yy = xx/total, xy/total, yy/total
	scale = math.Sqrt(xx + yy)
	if !measure.Finite(scale, mean.X, mean.Y) {
		return mean, 0, measure.ErrNotFinite
	}
	rounding := 1e-14 * far
	if scale <= rounding || scale == 0 {
		return mean, 0, measure.ErrCoincident
	}
	minor := (xx*yy - xy*xy) / (xx + yy) // the smaller variance, to first order
	if minor <= max(1e-24*scale*scale, rounding*rounding) {
		return mean, 0, ErrCollinear
	}
	return mean, scale, nil
}

// taubin returns the algebraic fit of Taubin (1991): Newton's method on the
// characteristic polynomial, from zero, which converges to the smallest root
// (Al-Sharadqah & Chernov 2009). The points are centred.
func taubin(points []measure.Point, w []float64) (measure.Circle, bool) {
	var total, mxx, mxy, myy, mxz, myz, mzz float64
	for i, p := range points {
		z := p.X*p.X + p.Y*p.Y
		total += w[i]
		mxx += w[i] * p.X * p.X
		mxy += w[i] * p.X * p.Y
		myy += w[i] * p.Y * p.Y
		mxz += w[i] * p.X * z
		myz += w[i] * p.Y * z
		mzz += w[i] * z * z
	}
	mxx, mxy, myy = mxx/total, mxy/total, myy/total
	mxz, myz, mzz = mxz/total, myz/total, mzz/total
	mz := mxx + myy
	det := mxx*myy - mxy*mxy
	a3 := 4 * mz
	a2 := -3*mz*mz - mzz
	a1 := mzz*mz + 4*det*mz - mxz*mxz - myz*myz - mz*mz*mz
	a0 := mxz*mxz*myy + myz*myz*mxx - mzz*det - 2*mxz*myz*mxy + mz*mz*det
	x, y := 0.0, a0
	for range 99 {
		next := x - y/(a1+x*(2*a2+3*a3*x))
		value := a0 + next*(a1+next*(a2+next*a3))
		if !measure.Finite(next) || next == x || math.Abs(value) >= math.Abs(y) {
			break
		}
		x, y = next, value
	}
	d := 2 * (x*x - x*mz + det)
	c := measure.Circle{X: (mxz*(myy-x) - myz*mxy) / d, Y: (myz*(mxx-x) - mxz*mxy) / d}
	c.R = math.Sqrt(c.X*c.X + c.Y*c.Y + mz + 2*x)
	return c, measure.Finite(c.X, c.Y, c.R)
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

// equations sums the system at c. The points are scaled, so squares do not
// overflow. A point on the centre pulls only the radius.
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

// Through returns the circle through three points.
func Through(p, q, r measure.Point) (measure.Circle, bool) {
	ax, ay, bx, by := q.X-p.X, q.Y-p.Y, r.X-p.X, r.Y-p.Y
	d := 2 * (ax*by - ay*bx)
	if math.Abs(d) < 1e-9 {
		return measure.Circle{}, false
	}
	a, b := ax*ax+ay*ay, bx*bx+by*by
	x, y := (by*a-ay*b)/d, (ax*b-bx*a)/d
	return measure.Circle{X: p.X + x, Y: p.Y + y, R: math.Hypot(x, y)}, true
}
