package mixed

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// Random says which effects vary from hip to hip.
type Random int

// What varies from hip to hip.
const (
	InterceptAndSlope Random = iota // correlated
	Uncorrelated                    // intercept and slope, independent
	InterceptOnly
)

// Options choose the criterion and the random effects. The zero value is
// REML with a correlated intercept and slope.
type Options struct {
	ML     bool
	Random Random
}

// Model is a fitted linear mixed model: fixed effects, a random intercept and
// slope for each hip, a random intercept for each patient where patients are
// given, and residual error.
type Model struct {
	N, Hips, Patients int
	Names             []string
	Coef              []float64
	Cov               *mat.SymDense // of Coef
	Sigma             float64       // residual standard deviation
	// SDIntercept and SDSlope are those between hips; Corr is their
	// correlation, ±1 at the boundary, 0 where one of them is 0.
	SDIntercept, SDSlope, Corr float64
	SDPatient                  float64
	LogLik                     float64 // restricted, with REML
	Params                     int     // coefficients and variance parameters
	Options                    Options
	// Singular says that the fit is at the boundary: a variance is 0 or the
	// correlation ±1. The likelihood is valid; the variances are at their limit.
	Singular bool
	// Converged is false where the search ended before the gradient vanished.
	Converged   bool
	Evaluations int

	data  Data
	stats *sums
	at    point
	index []int // hip of each row
}

// Fit maximises the likelihood (ML) or the restricted likelihood (REML)
// of the model. The residual variance and the fixed effects are profiled out,
// the deviance is a function of the relative Cholesky factor of the random
// effects alone (Bates D, Mächler M, Bolker B, Walker S. J Stat Softw
// 2015;67(1)), its gradient is analytic, and films enter through sums for each
// hip that are taken once, so that the cost grows with the number of hips.
func Fit(d Data, o Options) (Model, error) {
	m := Model{Options: o, data: d, N: len(d.Value), Names: d.Names}
	if err := d.check(); err != nil {
		return Model{}, err
	}
	s, err := newSums(d, o)
	if err != nil {
		return Model{}, err
	}
	m.stats, m.index = s, s.index
	m.Hips, m.Patients = len(s.zz)/3, len(s.first)-1
	if m.Patients < 2 {
		return Model{}, ErrOneHip
	}
	need, enough := 3.0, false
	if o.Random == InterceptOnly {
		need = 2
	}
	for h := 0; h < len(s.zz); h += 3 {
		enough = enough || s.zz[h] >= need
	}
	if !enough {
		return Model{}, ErrFilmsPerHip
	}
	th, evals, ok := minimise(s, o)
	m.Converged, m.Evaluations = ok, evals
	m.at = s.eval(th, o.ML)
	return m.fill()
}

// fill turns the optimum into the quantities of the model.
func (m Model) fill() (Model, error) {
	s, at := m.stats, m.at
	m.Sigma = math.Sqrt(at.sigma2)
	m.Coef = s.coefficients(at.beta)
	m.Cov = s.covariance(at, at.sigma2)
	d00, d01, d11 := s.unscaled(at.th)
	m.SDIntercept = m.Sigma * math.Sqrt(max(d00, 0))
	m.SDSlope = m.Sigma * math.Sqrt(max(d11, 0))
	if c := math.Sqrt(d00 * d11); c > 0 {
		m.Corr = max(-1, min(1, d01/c))
	}
	m.SDPatient = m.Sigma * math.Abs(at.th[3])
	m.Singular = at.th.singular(s.free)
	m.LogLik = -(at.dev + s.logScale(m.Options.ML)) / 2
	m.Params = len(m.Coef) + len(s.free) + 1
	for _, v := range append([]float64{m.LogLik, m.Sigma, m.SDIntercept, m.SDSlope}, m.Coef...) {
		if !finite(v) {
			return Model{}, wearfit.ErrRange
		}
	}
	var size float64
	for _, v := range m.data.Value {
		size = max(size, math.Abs(v))
	}
	if m.Sigma <= 1e-8*size { // no reading is so good
		return Model{}, wearfit.ErrNoScatter
	}
	return m, nil
}

// AIC returns Akaike's criterion.
func (m Model) AIC() float64 { return -2*m.LogLik + 2*float64(m.Params) }

// RandomCov returns the covariance of intercept and slope between hips.
func (m Model) RandomCov() (intercept, both, slope float64) {
	d00, d01, d11 := m.stats.unscaled(m.at.th)
	s2 := m.Sigma * m.Sigma
	return s2 * d00, s2 * d01, s2 * d11
}
