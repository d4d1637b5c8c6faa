package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// AlgebraicMethod names an algebraic circle fit: the normalisation under which
// the sum of squares of A (x² + y²) + B x + C y + D is minimised.
type AlgebraicMethod int

// The methods. With s the scatter of the points and R the radius, the leading
// bias of the radius on a whole circle is s²/R for Taubin, 2s²/R for Pratt,
// nothing for Hyper and s²/(2R) for the orthogonal fit, FitCircle
// (Al-Sharadqah & Chernov 2009). Kasa's makes circles of short arcs much too
// small.
const (
	Kasa   AlgebraicMethod = iota // A = 1 (Kasa 1976)
	Pratt                         // B² + C² - 4AD = 1 (Pratt 1987)
	Taubin                        // mean squared gradient 1 (Taubin 1991)
	Hyper                         // twice Taubin's less Pratt's (Al-Sharadqah & Chernov 2009)
)

// String returns the method's name.
func (m AlgebraicMethod) String() string {
	switch m {
	case Kasa:
		return "Kasa"
	case Pratt:
		return "Pratt"
	case Taubin:
		return "Taubin"
	case Hyper:
		return "hyper-accurate"
	}
	return "unknown method"
}

// FitCircleAlgebraic fits a circle by an algebraic method, on centred and
// scaled data. It is for study and comparison; FitCircle is the fit of choice.
// weights may be nil. Residuals are orthogonal distances all the same, and Cov
// is the first-order covariance at the circle found, which the methods share
// with FitCircle. The errors are those of FitCircle.
func FitCircleAlgebraic(points []Point, weights []float64, m AlgebraicMethod) (CircleFit, error) {
	if m < Kasa || m > Hyper {
		return CircleFit{}, &RangeError{"algebraic method", float64(m), "", "is not known"}
	}
	w, n, err := checkWeights(points, weights)
	if err != nil {
		return CircleFit{}, err
	}
	mean, scale, err := spread(points, w)
	if err != nil {
		return CircleFit{}, err
	}
	local := make([]Point, len(points))
	for i, p := range points {
		local[i] = Point{(p.X - mean.X) / scale, (p.Y - mean.Y) / scale}
	}
	c, ok := algebraic(local, w, m)
	if !ok || c.R > 1e5 {
		return CircleFit{}, ErrCollinear
	}
	f := CircleFit{
		Circle:    Circle{mean.X + scale*c.X, mean.Y + scale*c.Y, scale * c.R},
		Points:    slices.Clone(points),
		Residuals: make([]float64, len(points)),
	}
	var extent float64
	if f.Arc, extent = arcOf(local, w, c.Center()); extent < minArc {
		return CircleFit{}, &ArcError{extent}
	}
	var total float64
	for i, p := range local {
		f.Residuals[i] = scale * c.Distance(p)
		total += w[i]
	}
	s := equations(local, w, c)
	f.RMS = scale * math.Sqrt(s.cost/total)
	inv, ok := invert(s.a)
	if !ok {
		return CircleFit{}, ErrCollinear
	}
	if n > 3 {
		v := scale * scale * s.cost / float64(n-3)
		for i := range inv {
			for j := range inv[i] {
				f.Cov[i][j] = v * inv[i][j]
			}
		}
	}
	return f, nil
}

// algebraic minimises |Z a|² under a'Na = 1, where the rows of Z are
// (x² + y², x, y, 1) and a is (A, B, C, D), in the coordinates in which |Z a|
// is a length: the singular vectors of Z over its singular values. Points are
// centred.
func algebraic(points []Point, w []float64, m AlgebraicMethod) (Circle, bool) {
	z := mat.NewDense(len(points), 4, nil)
	var total, square float64
	for i, p := range points {
		q, r := p.X*p.X+p.Y*p.Y, math.Sqrt(w[i])
		z.SetRow(i, []float64{r * q, r * p.X, r * p.Y, r})
		total += w[i]
		square += w[i] * q
	}
	square /= total
	if m == Kasa {
		return kasa(z)
	}
	var norm *mat.SymDense
	switch m {
	case Pratt:
		norm = mat.NewSymDense(4, []float64{0, 0, 0, -2, 0, 1, 0, 0, 0, 0, 1, 0, -2, 0, 0, 0})
	case Taubin:
		norm = mat.NewSymDense(4, []float64{4 * square, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0})
	default:
		norm = mat.NewSymDense(4, []float64{8 * square, 0, 0, 2, 0, 1, 0, 0, 0, 0, 1, 0, 2, 0, 0, 0})
	}
	if len(points) < 4 {
		z = z.Grow(4-len(points), 0).(*mat.Dense) // rows of zeros change nothing
	}
	var svd mat.SVD
	if !svd.Factorize(z, mat.SVDThin) {
		return Circle{}, false
	}
	var v mat.Dense
	svd.VTo(&v)
	values := svd.Values(nil)
	if values[3] <= 1e-13*values[0] {
		return paramCircle(mat.Col(nil, 3, &v)) // the points lie on a circle
	}
	for j, s := range values {
		for i := range 4 {
			v.Set(i, j, v.At(i, j)/s)
		}
	}
	var half, full mat.Dense
	half.Mul(norm, &v)
	full.Mul(v.T(), &half)
	sym := mat.NewSymDense(4, nil)
	for i := range 4 {
		for j := i; j < 4; j++ {
			sym.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(sym, true) {
		return Circle{}, false
	}
	var vectors mat.Dense
	eig.VectorsTo(&vectors) // ascending: the last has the most a'Na for its |Z a|
	var a mat.VecDense
	a.MulVec(&v, vectors.ColView(3))
	return paramCircle(a.RawVector().Data)
}

// kasa solves the linear problem with A = 1.
func kasa(z *mat.Dense) (Circle, bool) {
	n, _ := z.Dims()
	var x, rhs mat.VecDense
	rhs.ScaleVec(-1, z.ColView(0))
	if x.SolveVec(z.Slice(0, n, 1, 4), &rhs) != nil {
		return Circle{}, false
	}
	return paramCircle([]float64{1, x.AtVec(0), x.AtVec(1), x.AtVec(2)})
}

// paramCircle returns the circle A (x² + y²) + B x + C y + D = 0.
func paramCircle(a []float64) (Circle, bool) {
	c := Circle{X: -a[1] / (2 * a[0]), Y: -a[2] / (2 * a[0])}
	c.R = math.Sqrt(a[1]*a[1]+a[2]*a[2]-4*a[0]*a[3]) / (2 * math.Abs(a[0]))
	return c, isFinite(c.X, c.Y, c.R) && c.R > 0
}
