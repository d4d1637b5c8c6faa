package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

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

// FitEllipse fits an ellipse by minimising the weighted sum of squared
// orthogonal distances of the points to it, by Levenberg-Marquardt from the
// direct fit. weights are relative and may be nil; a point of weight zero is
// kept in Points and Residuals without taking part. The minimum found is that
// of the start's neighbourhood: far from an ellipse there are others. The
// errors are those of DirectEllipse.
func FitEllipse(points []Point, weights []float64) (EllipseFit, error) {
	start, err := DirectEllipse(points, weights)
	if err != nil {
		return EllipseFit{}, err
	}
	w, n, err := checkWeights(points, weights)
	if err != nil {
		return EllipseFit{}, err
	}
	mean, scale, err := spread(points, w)
	if err != nil {
		return EllipseFit{}, err
	}
	local := make([]Point, len(points))
	for i, p := range points {
		local[i] = Point{(p.X - mean.X) / scale, (p.Y - mean.Y) / scale}
	}
	e := Ellipse{(start.X - mean.X) / scale, (start.Y - mean.Y) / scale, start.A / scale, start.B / scale, start.Angle}
	e, ok := descendEllipse(local, w, e)
	if !ok {
		return EllipseFit{}, ErrNotEllipse
	}
	f := EllipseFit{
		Ellipse:   Ellipse{mean.X + scale*e.X, mean.Y + scale*e.Y, scale * e.A, scale * e.B, halfTurn(e.Angle)},
		Points:    slices.Clone(points),
		Residuals: make([]float64, len(points)),
	}
	var total float64
	for i, p := range local {
		_, d := e.foot(p)
		f.Residuals[i] = scale * d
		total += w[i]
	}
	a, _, cost := ellipseSystem(local, w, e)
	f.RMS = scale * math.Sqrt(cost/total)
	var chol mat.Cholesky
	var inv mat.SymDense
	if !chol.Factorize(a) || chol.InverseTo(&inv) != nil {
		return f, nil // as round as a circle: the angle has no error to state
	}
	if n > 5 {
		for i := range f.Cov {
			for j := range f.Cov[i] {
				f.Cov[i][j] = inv.At(i, j) * cost / float64(n-5)
				if i < 4 {
					f.Cov[i][j] *= scale
				}
				if j < 4 {
					f.Cov[i][j] *= scale
				}
			}
		}
	}
	return f, nil
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

// descendEllipse minimises the weighted sum of squared orthogonal distances
// from e by Levenberg-Marquardt.
func descendEllipse(points []Point, w []float64, e Ellipse) (Ellipse, bool) {
	a, g, cost := ellipseSystem(points, w, e)
	lambda := 1e-4
	for range 500 {
		damped := mat.NewSymDense(5, nil)
		damped.CopySym(a)
		for i := range 5 {
			damped.SetSym(i, i, a.At(i, i)*(1+lambda)+1e-300)
		}
		var chol mat.Cholesky
		var x mat.VecDense
		if !chol.Factorize(damped) || chol.SolveVecTo(&x, g) != nil {
			lambda = max(1e-10, 10*lambda)
			if lambda > 1e9 {
				break
			}
			continue
		}
		next := Ellipse{e.X + x.AtVec(0), e.Y + x.AtVec(1), e.A + x.AtVec(2), e.B + x.AtVec(3), e.Angle + x.AtVec(4)*180/math.Pi}
		if next.B > next.A {
			next.A, next.B, next.Angle = next.B, next.A, next.Angle+90
		}
		if mat.Norm(&x, math.Inf(1)) <= 1e-13*(1+e.A) || lambda > 1e9 {
			break
		}
		if next.B > 0 {
			if na, ng, then := ellipseSystem(points, w, next); then <= cost*(1+1e-15) {
				e, a, g, cost = next, na, ng, then
				lambda = max(lambda/10, 1e-12)
				continue
			}
		}
		lambda *= 10
	}
	return e, isFinite(e.X, e.Y, e.A, e.B, e.Angle) && e.B > 1e-9*e.A && e.A < 1e5
}

// ellipseSystem returns J'WJ, -J'Wd and d'Wd with respect to X, Y, A, B and the
// angle in radians.
func ellipseSystem(points []Point, w []float64, e Ellipse) (a *mat.SymDense, g *mat.VecDense, cost float64) {
	a, g = mat.NewSymDense(5, nil), mat.NewVecDense(5, nil)
	s, c := sincos(e.Angle)
	for i, p := range points {
		q, d := e.foot(p)
		dx, dy := q.X-e.X, q.Y-e.Y
		x, y := dx*c+dy*s, dy*c-dx*s // the foot in the ellipse's frame
		nx, ny := x/(e.A*e.A), y/(e.B*e.B)
		n := math.Hypot(nx, ny)
		nx, ny = nx/n, ny/n
		u := mat.NewVecDense(5, []float64{
			nx*c - ny*s, nx*s + ny*c, nx * x / e.A, ny * y / e.B, ny*x - nx*y,
		})
		a.SymRankOne(a, w[i], u)
		g.AddScaledVec(g, w[i]*d, u)
		cost += w[i] * d * d
	}
	return a, g, cost
}
