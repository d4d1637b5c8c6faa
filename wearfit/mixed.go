package wearfit

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Random says which effects vary from hip to hip.
type Random int

// What varies from hip to hip.
const (
	InterceptAndSlope Random = iota // correlated
	Uncorrelated                    // intercept and slope, independent
	InterceptOnly
)

// MixedData is a table of films, one row each, for a mixed model.
type MixedData struct {
	Hip     []string
	Patient []string // nil: hips are independent
	Time    []float64
	Value   []float64
	Fixed   [][]float64 // columns of the fixed effects, the intercept's ones among them
	Names   []string    // of the columns
}

// MixedOptions choose the criterion and the random effects. The zero value is
// REML with a correlated intercept and slope.
type MixedOptions struct {
	ML     bool
	Random Random
}

// ErrOneHip says that a mixed model needs more hips.
var ErrOneHip = errors.New("wearfit: a mixed model needs two or more hips")

// ErrFilmsPerHip says that no hip has more films than effects of its own, so
// that its effects and the error cannot be told apart.
var ErrFilmsPerHip = errors.New("wearfit: no hip has more films than the effects that vary between hips")

// NestError says that a hip has films under two patients.
type NestError struct{ Hip, First, Second string }

func (e *NestError) Error() string {
	return fmt.Sprintf("wearfit: hip %s is listed under patients %s and %s", e.Hip, e.First, e.Second)
}

// Mixed is a fitted linear mixed model: fixed effects, a random intercept and
// slope for each hip, a random intercept for each patient where patients are
// given, and residual error.
type Mixed struct {
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
	Options                    MixedOptions
	// Singular says that the fit is at the boundary: a variance is 0 or the
	// correlation ±1. The likelihood is valid; the variances are at their limit.
	Singular bool
	// Converged is false where the search ended before the gradient vanished.
	Converged   bool
	Evaluations int

	data  MixedData
	stats *sums
	at    point
	index []int // hip of each row
}

// FitMixed maximises the likelihood (ML) or the restricted likelihood (REML)
// of the model. The residual variance and the fixed effects are profiled out,
// the deviance is a function of the relative Cholesky factor of the random
// effects alone (Bates D, Mächler M, Bolker B, Walker S. J Stat Softw
// 2015;67(1)), its gradient is analytic, and films enter through sums for each
// hip that are taken once, so that the cost grows with the number of hips.
func FitMixed(d MixedData, o MixedOptions) (Mixed, error) {
	m := Mixed{Options: o, data: d, N: len(d.Value), Names: d.Names}
	if err := m.check(); err != nil {
		return Mixed{}, err
	}
	s, err := newSums(d, o)
	if err != nil {
		return Mixed{}, err
	}
	m.stats, m.index = s, s.index
	m.Hips, m.Patients = len(s.zz)/3, len(s.first)-1
	if m.Patients < 2 {
		return Mixed{}, ErrOneHip
	}
	need, enough := 3.0, false
	if o.Random == InterceptOnly {
		need = 2
	}
	for h := 0; h < len(s.zz); h += 3 {
		enough = enough || s.zz[h] >= need
	}
	if !enough {
		return Mixed{}, ErrFilmsPerHip
	}
	th, evals, ok := minimise(s, o)
	m.Converged, m.Evaluations = ok, evals
	m.at = s.eval(th, o.ML)
	return m.fill()
}

func (m *Mixed) check() error {
	d := m.data
	p := len(d.Fixed)
	if err := check(d.Time, d.Value, nil, p+2); err != nil {
		return err
	}
	if len(d.Hip) != m.N || (d.Patient != nil && len(d.Patient) != m.N) {
		return &LengthError{m.N, len(d.Hip), len(d.Patient)}
	}
	for _, c := range d.Fixed {
		if err := check(c, d.Value, nil, p+2); err != nil {
			return err
		}
	}
	if p == 0 {
		return ErrRank
	}
	return nil
}

// fill turns the optimum into the quantities of the model.
func (m Mixed) fill() (Mixed, error) {
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
			return Mixed{}, ErrRange
		}
	}
	var size float64
	for _, v := range m.data.Value {
		size = max(size, math.Abs(v))
	}
	if m.Sigma <= 1e-8*size { // no reading is so good
		return Mixed{}, ErrNoScatter
	}
	return m, nil
}

// AIC returns Akaike's criterion.
func (m Mixed) AIC() float64 { return -2*m.LogLik + 2*float64(m.Params) }

// RandomCov returns the covariance of intercept and slope between hips.
func (m Mixed) RandomCov() (intercept, both, slope float64) {
	d00, d01, d11 := m.stats.unscaled(m.at.th)
	s2 := m.Sigma * m.Sigma
	return s2 * d00, s2 * d01, s2 * d11
}
