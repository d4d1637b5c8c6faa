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
	l.Coef = make([]float64, p)
	l.RSS = s.fit(cols, y, w, l.Residuals, l.Coef)
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
