package wearfit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrNoMinimum says that the search for the best curve did not end at a
// minimum from the start it was given.
var ErrNoMinimum = errors.New("wearfit: no best curve was found from this start")

// Curve is a least-squares fit of a curve that is not linear in its
// parameters.
type Curve struct {
	Params     []float64
	Cov        *mat.SymDense // by linearisation at Params; with DF 0 of unit variance
	Sigma      float64       // +Inf with DF 0
	RSS        float64
	DF         int
	Residuals  []float64
	Iterations int
}

// Estimate returns the j-th parameter with its standard error by linearisation.
func (c Curve) Estimate(j int) Estimate {
	l := Linear{Coef: c.Params, Cov: c.Cov, DF: c.DF}
	return l.Estimate(j)
}

// FitCurve minimises Σ w (y - f(t, p))² from start by the method of Levenberg
// and Marquardt with the scaling of Moré (Moré JJ. The Levenberg-Marquardt
// algorithm. Lect Notes Math 1978;630:105-116). Derivatives are central
// differences. It ends where a step changes no parameter by more than 1e-12
// of itself, at a minimum that need not be the lowest.
func FitCurve(f func(t float64, p []float64) float64, start, t, y, w []float64) (Curve, error) {
	if err := check(t, y, w, max(len(start), 1)); err != nil {
		return Curve{}, err
	}
	s := &search{f: f, t: t, y: y, w: w, p: append([]float64(nil), start...)}
	s.r, s.rss = s.at(s.p)
	if !finite(s.rss) {
		return Curve{}, ErrRange
	}
	const most = 2000
	settled := false
	for s.n = 1; s.n <= most && !settled; s.n++ {
		settled = s.step()
	}
	if !settled {
		return Curve{}, ErrNoMinimum
	}
	return s.result()
}

// search is the state of a Levenberg-Marquardt search.
type search struct {
	f       func(t float64, p []float64) float64
	t, y, w []float64
	p, r    []float64
	rss     float64
	scale   []float64 // largest norm so far of each column of the Jacobian
	damp    float64
	n       int
}

// at returns the weighted residuals y - f and their sum of squares.
func (s *search) at(p []float64) ([]float64, float64) {
	r := make([]float64, len(s.t))
	var rss float64
	for i := range r {
		r[i] = math.Sqrt(weight(s.w, i)) * (s.y[i] - s.f(s.t[i], p))
		rss += r[i] * r[i]
	}
	return r, rss
}

// jacobian returns the columns of derivatives of f by five-point differences.
func (s *search) jacobian() [][]float64 {
	cols := make([][]float64, len(s.p))
	q := append([]float64(nil), s.p...)
	for j, v := range s.p {
		h := 1e-3 * math.Abs(v)
		if h == 0 {
			h = 1e-6
		}
		cols[j] = make([]float64, len(s.t))
		for i, t := range s.t {
			at := func(k float64) float64 {
				q[j] = v + k*h
				return s.f(t, q)
			}
			cols[j][i] = (8*(at(1)-at(-1)) - (at(2) - at(-2))) / (12 * h)
		}
		q[j] = v
	}
	return cols
}

// step moves to a lower point, and says whether nothing is left to gain.
func (s *search) step() bool {
	cols := s.jacobian()
	n, p := len(s.t), len(s.p)
	if s.scale == nil {
		s.scale, s.damp = make([]float64, p), 1e-2
	}
	a := mat.NewDense(n+p, p, nil)
	for j, c := range cols {
		var norm float64
		for i, v := range c {
			v *= math.Sqrt(weight(s.w, i))
			a.Set(i, j, v)
			norm = math.Hypot(norm, v)
		}
		s.scale[j] = max(s.scale[j], norm)
	}
	rhs := mat.NewVecDense(n+p, append(append([]float64(nil), s.r...), make([]float64, p)...))
	for range 60 {
		for j := range p {
			a.Set(n+j, j, math.Sqrt(s.damp)*max(s.scale[j], 1e-300))
		}
		var d mat.VecDense
		if err := d.SolveVec(a, rhs); err != nil {
			s.damp *= 10
			continue
		}
		q := make([]float64, p)
		small := true
		for j := range q {
			q[j] = s.p[j] + d.AtVec(j)
			small = small && math.Abs(d.AtVec(j)) <= 1e-12*math.Abs(q[j])
		}
		r, rss := s.at(q)
		if rss <= s.rss { // false for NaN
			s.p, s.r, s.rss = q, r, rss
			s.damp = max(s.damp/10, 1e-16)
			return small
		}
		if small {
			return true
		}
		s.damp *= 4
	}
	return true
}

func (s *search) result() (Curve, error) {
	cols := s.jacobian()
	dec := newSolver(cols, s.w, len(s.t))
	if dec == nil {
		return Curve{}, ErrRank
	}
	c := Curve{Params: s.p, RSS: s.rss, DF: len(s.t) - len(s.p), Sigma: math.Inf(1), Iterations: s.n - 1}
	unit := 1.0
	if c.DF > 0 {
		c.Sigma = math.Sqrt(s.rss / float64(c.DF))
		unit = c.Sigma * c.Sigma
	}
	c.Cov = dec.covariance(unit)
	c.Residuals = make([]float64, len(s.t))
	for i := range c.Residuals {
		c.Residuals[i] = s.y[i] - s.f(s.t[i], s.p)
	}
	for j, v := range c.Params {
		if !finite(v) || !finite(c.Cov.At(j, j)) {
			return Curve{}, ErrRange
		}
	}
	return c, nil
}
