package measure

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrNotEllipse is the error of points whose best conic is no ellipse.
var ErrNotEllipse = errors.New("measure: no ellipse fits the points")

// ErrTooFewForEllipse is the error of fewer points than an ellipse needs.
var ErrTooFewForEllipse = errors.New("measure: fewer than 6 points")

// DirectEllipse returns the ellipse that minimises the weighted sum of squared
// algebraic distances A x² + B xy + C y² + D x + E y + F under the constraint
// 4AC - B² = 1 (Fitzgibbon, Pilu & Fisher 1999), in the block form of Halir &
// Flusser (1998), on centred and scaled data. It is always an ellipse, too
// small and too round on short arcs; FitEllipse goes on from it. weights may be
// nil. The errors are ErrTooFewForEllipse, ErrCoincident, ErrCollinear,
// ErrNotFinite and ErrNotEllipse.
func DirectEllipse(points []Point, weights []float64) (Ellipse, error) {
	w, n, err := checkWeights(points, weights)
	if err == nil && n < 6 || errors.Is(err, ErrTooFewPoints) {
		err = ErrTooFewForEllipse
	}
	if err != nil {
		return Ellipse{}, err
	}
	mean, scale, err := spread(points, w)
	if err != nil {
		return Ellipse{}, err
	}
	// The quadratic and the linear columns, each row times the root of its weight.
	quadratic, linear := mat.NewDense(len(points), 3, nil), mat.NewDense(len(points), 3, nil)
	for i, p := range points {
		x, y, r := (p.X-mean.X)/scale, (p.Y-mean.Y)/scale, math.Sqrt(w[i])
		quadratic.SetRow(i, []float64{r * x * x, r * x * y, r * y * y})
		linear.SetRow(i, []float64{r * x, r * y, r})
	}
	// What the quadratic part leaves to the linear one, by orthogonal
	// projection, so that no product of columns is formed.
	var t, rest mat.Dense
	if t.Solve(linear, quadratic) != nil {
		return Ellipse{}, ErrCollinear
	}
	rest.Mul(linear, &t)
	rest.Sub(quadratic, &rest)
	var scatter, system mat.Dense
	scatter.Mul(rest.T(), &rest)
	system.Mul(mat.NewDense(3, 3, []float64{0, 0, 0.5, 0, -1, 0, 0.5, 0, 0}), &scatter)
	a, ok := ellipticVector(&system)
	if !ok {
		return Ellipse{}, ErrNotEllipse
	}
	var b mat.VecDense
	b.MulVec(&t, mat.NewVecDense(3, a[:]))
	e, ok := conicEllipse(a[0], a[1], a[2], -b.AtVec(0), -b.AtVec(1), -b.AtVec(2))
	if !ok {
		return Ellipse{}, ErrNotEllipse
	}
	return Ellipse{mean.X + scale*e.X, mean.Y + scale*e.Y, scale * e.A, scale * e.B, e.Angle}, nil
}

// ellipticVector returns the eigenvector with 4AC - B² > 0; there is one.
func ellipticVector(m *mat.Dense) (a [3]float64, ok bool) {
	var eig mat.Eigen
	if !eig.Factorize(m, mat.EigenRight) {
		return a, false
	}
	var v mat.CDense
	eig.VectorsTo(&v)
	var most float64
	for j := range 3 {
		var c [3]float64
		for i := range c {
			c[i] = real(v.At(i, j))
		}
		if q := 4*c[0]*c[2] - c[1]*c[1]; q > most {
			most, a = q, c
		}
	}
	return a, most > 0
}

// conicEllipse returns the ellipse A x² + B xy + C y² + D x + E y + F = 0.
func conicEllipse(a, b, c, d, e, f float64) (Ellipse, bool) {
	det := 4*a*c - b*b
	x, y := (b*e-2*c*d)/det, (b*d-2*a*e)/det
	level := -(f + (d*x+e*y)/2)
	if a+c < 0 {
		a, b, c, level = -a, -b, -c, -level
	}
	root := math.Hypot(a-c, b)
	high := (a + c + root) / 2
	low := det / (4 * high) // the smaller eigenvalue, without cancellation
	out := Ellipse{X: x, Y: y, A: math.Sqrt(level / low), B: math.Sqrt(level / high)}
	// The long axis lies along the eigenvector of the smaller eigenvalue.
	out.Angle = halfTurn(math.Atan2(-b, c-a) / 2 * 180 / math.Pi)
	return out, det > 0 && level > 0 && isFinite(out.X, out.Y, out.A, out.B, out.Angle)
}

// halfTurn returns an angle modulo 180 degrees, in [0, 180).
func halfTurn(deg float64) float64 {
	deg = math.Mod(math.Mod(deg, 180)+180, 180)
	if deg == 180 {
		return 0
	}
	return deg
}
