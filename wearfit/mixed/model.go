package mixed

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
	"linerwatch/wearfit/internal/seek"
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
	// PatientSlope lets the rate vary between patients too: the two hips of a patient
	// wear alike. What varies between hips varies between patients then.
	PatientSlope bool
	// ScaleSE takes the stated errors as right but for a factor, the same for all: Sigma is
	// that factor, a pure number, and nothing is added to them.
	ScaleSE bool
}

// Model is a fitted linear mixed model: fixed effects, a random intercept and
// slope for each hip, a random intercept (and slope) for each patient where patients
// are given, an effect of each film where films were read more than once, and
// residual error. Where errors of readings are known, the standard deviations are of
// what is left beyond them: SDIntercept then is that of the intercepts without the
// error of the baseline film, Sigma that of the scatter without the readings' own.
type Model struct {
	N, Hips, Patients int
	Names             []string
	Coef              []float64
	Cov               *mat.SymDense // of Coef
	Sigma             float64       // residual standard deviation; of the first class where there are several
	Classes           []ClassSD     // by class of readings where there are classes
	// SDIntercept and SDSlope are those between hips; Corr is their
	// correlation, ±1 at the boundary, 0 where one of them is 0.
	SDIntercept, SDSlope, Corr float64
	// The same between patients; slope and correlation with PatientSlope.
	SDPatient, SDPatientSlope, CorrPatient float64
	SDFilm                                 float64
	LogLik                                 float64 // restricted, with REML
	Params                                 int     // coefficients and variance parameters
	Options                                Options
	// Singular says that the fit is at the boundary: a variance of an effect is 0 or a
	// correlation ±1. The likelihood is valid; the variances are at their limit.
	Singular bool
	// Converged is false where the search ended before the gradient vanished.
	Converged   bool
	Evaluations int

	data  Data
	stats *sums
	unit  float64       // of lengths in what follows
	nat   []float64     // the variances, by number, of scaled time
	beta  []float64     // coefficients of X r⁻¹ about the start
	chol  *mat.Cholesky // of X'V⁻¹X
	at    point         // of a plain model
	spot  *spot         // of another
	dense *lazy
}

// ClassSD is the residual standard deviation of a class of readings.
type ClassSD struct {
	Class string
	N     int
	SD    float64
}

// Fit maximises the likelihood (ML) or the restricted likelihood (REML)
// of the model. Where nothing is known of errors, the residual variance and the
// fixed effects are profiled out, the deviance is a function of the relative Cholesky
// factor of the random effects alone (Bates D, Mächler M, Bolker B, Walker S. J Stat
// Softw 2015;67(1)), its gradient is analytic, and films enter through sums for each
// hip that are taken once, so that the cost grows with the number of hips. Otherwise
// the covariance of each patient's films is inverted as a whole, and only the fixed
// effects are profiled out (Harville DA. J Am Stat Assoc 1977;72:320-338).
func Fit(d Data, o Options) (Model, error) {
	m := Model{Options: o, data: d, N: len(d.Value), Names: d.Names, dense: &lazy{}}
	if err := d.check(); err != nil {
		return Model{}, err
	}
	s, err := newSums(d, o)
	if err != nil {
		return Model{}, err
	}
	m.stats = s
	m.Hips, m.Patients = len(s.zz)/3, len(s.first)-1
	if err := s.enough(o.Random); err != nil {
		return Model{}, err
	}
	top := seek.Minimise(func(x []float64) (float64, []float64) {
		at := s.eval(s.factor(x), o.ML)
		return at.dev, s.active(at.grad)
	}, s.active(s.moments(o.Random)), nil, leastStep)
	m.Evaluations, m.Converged = top.Evals, top.Converged
	m.at = s.eval(s.factor(top.X).upright(), o.ML)
	if err := m.checkScatter(); err != nil {
		return Model{}, err
	}
	m.unit = math.Sqrt(m.at.sigma2)
	if !d.plain() || o.PatientSlope && contains(s.free, 3) {
		return m.fitWhole()
	}
	f := m.at.th
	m.nat = []float64{f[0] * f[0], f[0] * f[1], f[1]*f[1] + f[2]*f[2], f[3] * f[3], 0, 0, 0, 1}
	m.beta, m.chol = slices.Clone(m.at.beta), &m.at.chol
	floats.Scale(1/m.unit, m.beta)
	m.Singular = f.singular(s.free)
	return m.fill(m.at.dev, len(s.free)+1)
}

// fitWhole goes on from the plain model to that of what is known of errors.
func (m Model) fitWhole() (Model, error) {
	b, err := newBlocks(m.stats, m.data, m.Options, m.unit)
	if err != nil {
		return Model{}, err
	}
	m.dense.set(b)
	top := seek.Minimise(b.deviance(m.Options.ML), b.begin(m.at.th, 1), nil, leastStep)
	x := top.X
	m.Evaluations, m.Converged = m.Evaluations+top.Evals, top.Converged
	m.spot = b.eval(b.variances(x), m.Options.ML)
	m.nat, m.beta, m.chol = m.spot.nat, m.spot.beta, &m.spot.chol
	m.Singular = b.singular(x)
	return m.fill(m.spot.dev+m.ofUnit(), len(x))
}

// ofUnit is what the unit takes from the deviance.
func (m Model) ofUnit() float64 {
	nu := float64(m.N)
	if !m.Options.ML {
		nu -= float64(len(m.data.Fixed))
	}
	return 2 * nu * math.Log(m.unit)
}

// checkScatter refuses readings that a plain model follows exactly.
func (m Model) checkScatter() error {
	var size float64
	for _, v := range m.data.Value {
		size = max(size, math.Abs(v))
	}
	sigma := math.Sqrt(m.at.sigma2)
	switch {
	case !finite(sigma) || !finite(m.at.dev):
		return wearfit.ErrRange
	case sigma <= 1e-8*size: // no reading is so good
		return wearfit.ErrNoScatter
	}
	return nil
}

// fill turns the optimum, its deviance and the number of its variances into the
// quantities of the model.
func (m Model) fill(dev float64, variances int) (Model, error) {
	s, u := m.stats, m.unit
	scaled := slices.Clone(m.beta)
	floats.Scale(u, scaled)
	m.Coef = s.coefficients(scaled)
	m.Cov = s.covariance(m.chol, u*u)
	m.SDIntercept, m.Corr, m.SDSlope = m.between(hipPart)
	m.SDPatient, m.CorrPatient, m.SDPatientSlope = m.between(patientPart)
	m.SDFilm = u * math.Sqrt(m.nat[filmPart])
	m.Sigma = u * math.Sqrt(m.nat[classPart])
	if m.scaled() {
		m.Sigma /= u
	}
	if m.data.Class != nil {
		b := m.whole()
		for c, name := range b.classNames {
			m.Classes = append(m.Classes, ClassSD{name, b.count(c), u * math.Sqrt(m.nat[classPart+c])})
		}
	}
	m.LogLik = -(dev + s.logScale(m.Options.ML)) / 2
	m.Params = len(m.Coef) + variances
	for _, v := range append([]float64{m.LogLik, m.Sigma, m.SDIntercept, m.SDSlope}, m.Coef...) {
		if !finite(v) {
			return Model{}, wearfit.ErrRange
		}
	}
	return m, nil
}

// scaled says that Sigma is a factor of stated errors.
func (m Model) scaled() bool { return m.Options.ScaleSE && m.data.SE != nil }

// between returns the standard deviations of intercept and slope of a part and their
// correlation.
func (m Model) between(part int) (intercept, corr, slope float64) {
	a, b, c := m.cov(part)
	intercept, slope = math.Sqrt(max(a, 0)), math.Sqrt(max(c, 0))
	if r := intercept * slope; r > 0 {
		corr = max(-1, min(1, b/r))
	}
	return intercept, corr, slope
}

// cov returns the covariance of intercept and slope of a part.
func (m Model) cov(part int) (intercept, both, slope float64) {
	v, u := m.nat[part:part+3], m.unit*m.unit
	q, sc := m.stats.center/m.stats.scale, m.stats.scale
	// The intercept of time zero is that of the centre less center times the slope.
	return u * (v[0] - 2*q*v[1] + q*q*v[2]), u * (v[1] - q*v[2]) / sc, u * v[2] / (sc * sc)
}

// AIC returns Akaike's criterion.
func (m Model) AIC() float64 { return -2*m.LogLik + 2*float64(m.Params) }

// RandomCov returns the covariance of intercept and slope between hips.
func (m Model) RandomCov() (intercept, both, slope float64) { return m.cov(hipPart) }

// lazy is what of a model is made when it is first asked for.
type lazy struct {
	once   sync.Once
	blocks *blocks
	bent   sync.Once
	curve  curve
}

func (l *lazy) set(b *blocks) { l.once.Do(func() { l.blocks = b }) }

// whole returns the blocks of the model. What could be wrong with them has been
// refused by then.
func (m Model) whole() *blocks {
	m.dense.once.Do(func() {
		b, err := newBlocks(m.stats, m.data, m.Options, m.unit)
		if err != nil {
			panic(err)
		}
		m.dense.blocks = b
	})
	return m.dense.blocks
}
