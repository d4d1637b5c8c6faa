package wearfit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrRank says that the columns of a design depend on each other, so that
// their coefficients cannot be told apart.
var ErrRank = errors.New("wearfit: the columns of the design depend on each other")

// Linear is a least-squares fit of y = Σ Coef[j] x[j] with any columns x.
type Linear struct {
	Coef      []float64
	Cov       *mat.SymDense // covariance of Coef; with DF 0 of unit variance
	Sigma     float64       // residual standard deviation of an observation of weight 1; +Inf with DF 0
	RSS       float64       // Σ w r²
	DF        int           // observations less coefficients
	Residuals []float64
	Leverage  []float64
}

// rankTolerance is the smallest diagonal of R, over that of a unit column, that
// still counts as a direction of its own.
const rankTolerance = 1e-11

// FitLinear minimises Σ w (y - Σ b[j] cols[j])² by orthogonal (QR)
// decomposition of scaled columns with one refinement step, whose residuals are
// taken in twice the precision (Björck Å. Numerical Methods for Least Squares
// Problems. SIAM 1996, section 2.9). The intercept, if any, is a column of
// ones.
func FitLinear(cols [][]float64, y, w []float64) (Linear, error) {
	n, p := len(y), len(cols)
	for _, c := range cols {
		if err := check(c, y, w, max(p, 1)); err != nil {
			return Linear{}, err
		}
	}
	if p == 0 {
		return Linear{}, ErrRank
	}
	s := newSolver(cols, w, n)
	if s == nil {
		return Linear{}, ErrRank
	}
	l := Linear{DF: n - p, Residuals: make([]float64, n), Leverage: s.leverage()}
	l.Coef = s.solve(y)
	for range 2 {
		residuals(l.Residuals, cols, y, l.Coef)
		for j, d := range s.solve(l.Residuals) {
			l.Coef[j] += d
		}
	}
	residuals(l.Residuals, cols, y, l.Coef)
	for i, r := range l.Residuals {
		l.RSS += weight(w, i) * r * r
	}
	l.Sigma = math.Inf(1)
	unit := 1.0
	if l.DF > 0 {
		l.Sigma = math.Sqrt(l.RSS / float64(l.DF))
		unit = l.Sigma * l.Sigma
	}
	l.Cov = s.covariance(unit)
	for j, b := range l.Coef {
		if !finite(b) || !finite(l.Cov.At(j, j)) || !finite(l.RSS) {
			return Linear{}, ErrRange
		}
	}
	return l, nil
}

// Estimate returns the j-th coefficient.
func (l Linear) Estimate(j int) Estimate {
	c := make([]float64, len(l.Coef))
	c[j] = 1
	return l.Combine(c)
}

// Combine returns Σ c[j] Coef[j].
func (l Linear) Combine(c []float64) Estimate {
	e := Estimate{DF: float64(l.DF), SE: math.Inf(1)}
	for j, b := range l.Coef {
		e.Value += c[j] * b
	}
	if l.DF > 0 {
		e.SE = math.Sqrt(max(form(l.Cov, c), 0))
	}
	return e
}

// form returns c' V c.
func form(v mat.Symmetric, c []float64) float64 {
	var s float64
	for i, a := range c {
		for j, b := range c {
			s += a * b * v.At(i, j)
		}
	}
	return s
}

// residuals sets r = y - Σ b x, carried in two floats.
func residuals(r []float64, cols [][]float64, y, b []float64) {
	for i := range r {
		hi, lo := y[i], 0.0
		for j, c := range cols {
			p := -b[j] * c[i]
			e := math.FMA(-b[j], c[i], -p)
			s := hi + p
			z := s - hi
			lo += (hi - (s - z)) + (p - z) + e
			hi = s
		}
		r[i] = hi + lo
	}
}

// solver holds the decomposition of a weighted design of columns scaled to
// length 1.
type solver struct {
	n, p  int
	root  []float64 // square roots of the weights; nil for equal ones
	scale []float64
	q, r  *mat.Dense
}

// newSolver returns nil for a design of less than full rank.
func newSolver(cols [][]float64, w []float64, n int) *solver {
	s := &solver{n: n, p: len(cols), scale: make([]float64, len(cols))}
	if n < s.p {
		return nil
	}
	if w != nil {
		s.root = make([]float64, n)
		for i := range w {
			s.root[i] = math.Sqrt(w[i])
		}
	}
	a := mat.NewDense(n, s.p, nil)
	for j, c := range cols {
		for i, v := range c {
			v *= s.weigh(i)
			a.Set(i, j, v)
			s.scale[j] = math.Hypot(s.scale[j], v)
		}
		if s.scale[j] == 0 {
			return nil
		}
		for i := range c {
			a.Set(i, j, a.At(i, j)/s.scale[j])
		}
	}
	var qr mat.QR
	qr.Factorize(a)
	var q, r mat.Dense
	qr.QTo(&q)
	qr.RTo(&r)
	s.q, s.r = &q, &r
	for j := range s.p {
		if !(math.Abs(r.At(j, j)) > rankTolerance) {
			return nil
		}
	}
	return s
}

func (s *solver) weigh(i int) float64 {
	if s.root == nil {
		return 1
	}
	return s.root[i]
}

func (s *solver) solve(y []float64) []float64 {
	b := make([]float64, s.p)
	for j := range b {
		for i := range y {
			b[j] += s.q.At(i, j) * s.weigh(i) * y[i]
		}
	}
	for j := s.p - 1; j >= 0; j-- {
		for k := j + 1; k < s.p; k++ {
			b[j] -= s.r.At(j, k) * b[k]
		}
		b[j] /= s.r.At(j, j)
	}
	for j := range b {
		b[j] /= s.scale[j]
	}
	return b
}

func (s *solver) leverage() []float64 {
	h := make([]float64, s.n)
	for i := range h {
		for j := range s.p {
			h[i] += s.q.At(i, j) * s.q.At(i, j)
		}
	}
	return h
}

// covariance returns unit (X'WX)⁻¹.
func (s *solver) covariance(unit float64) *mat.SymDense {
	inv := mat.NewDense(s.p, s.p, nil)
	for c := range s.p {
		for j := c; j >= 0; j-- {
			v := 0.0
			if j == c {
				v = 1
			}
			for k := j + 1; k <= c; k++ {
				v -= s.r.At(j, k) * inv.At(k, c)
			}
			inv.Set(j, c, v/s.r.At(j, j))
		}
	}
	cov := mat.NewSymDense(s.p, nil)
	for i := range s.p {
		for j := i; j < s.p; j++ {
			var v float64
			for k := j; k < s.p; k++ {
				v += inv.At(i, k) * inv.At(j, k)
			}
			cov.SetSym(i, j, unit*v/(s.scale[i]*s.scale[j]))
		}
	}
	return cov
}
