package survive

import (
	"errors"
	"fmt"
	"math"

	"linerwatch/wearfit"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Faults of a regression.
var (
	// ErrSeparate says that every revision was of a liner with the highest (or lowest)
	// value at risk, in a column or a sum of them, so that the likelihood has no
	// maximum.
	ErrSeparate = errors.New("wearfit: no bound of the hazard ratio: each revised liner had the highest, or the lowest, value of those at risk")
	// ErrSame says that columns tell the same, or nothing, of the liners at risk.
	ErrSame = errors.New("wearfit: the columns tell the same, or nothing, of the liners that were at risk")
	// ErrAlike says that all values of a column are the same.
	ErrAlike = errors.New("wearfit: all values are the same")
)

// ColumnError names a column of values that nothing can be told of: Err is ErrAlike, or
// wearfit.ErrRange.
type ColumnError struct {
	Column int
	Err    error
}

func (e *ColumnError) Error() string { return fmt.Sprintf("wearfit: column %d: %s", e.Column+1, e.Err) }

// Unwrap returns what is wrong with the column.
func (e *ColumnError) Unwrap() error { return e.Err }

// Hazards is a proportional-hazards regression: the hazard of a revision is that of
// a liner with all values at 0 times the product of exp(coefficient value).
type Hazards struct {
	N, Events, Patients int
	Failed              int // patients with a revised liner
	// Clustered says that errors are between patients, some of whom have two liners.
	Clustered bool
	// Coef are log hazard ratios of a step of 1, by column. Where Clustered they have
	// Failed less the columns degrees of freedom.
	Coef    []wearfit.Estimate
	Naive   []float64 // standard errors if all liners failed independently
	Robust  []float64 // between patients, without a correction; nil where not Clustered
	LogLik  float64   // partial, at Coef
	NullLik float64   // with all coefficients 0
	// Likelihood and Score take all liners as independent; Wald, by an F distribution,
	// and RobustScore do not where Clustered. RobustScore is there only then.
	Likelihood, Wald, Score, RobustScore Test

	fit *coxFit
}

// Ratio returns the hazard ratio of a step in a column, and its interval.
func (h Hazards) Ratio(column int, step, level float64) (float64, wearfit.Interval) {
	e := h.Coef[column]
	e.Value, e.SE = e.Value*step, e.SE*math.Abs(step)
	i := e.Interval(level)
	return math.Exp(e.Value), wearfit.Interval{Lo: math.Exp(i.Lo), Hi: math.Exp(i.Hi)}
}

// Cox fits the hazard of a revision to columns of values, one a liner (Cox DR. J R
// Stat Soc B 1972;34:187-220); other events end the observation. Revisions at one
// time are taken by Efron's approximation (Efron B. J Am Stat Assoc
// 1977;72:557-565). What is minimised is minus the log partial likelihood. Where a
// patient has more than one liner the standard errors are robust (Lin DY, Wei LJ. J Am
// Stat Assoc 1989;84:1074-1078): patients are independent, their liners need not be.
// Robust errors are too small where few patients tell them. Those that do have a
// revised liner; with m of them and p columns the variance is taken m/(m-p) times, with
// Student's t on m-p degrees of freedom (Cameron AC, Miller DL. J Hum Resour
// 2015;50:317-372, section VI, there of all clusters).
//
// It fails with a *ColumnError, ErrNoEvent, ErrSame, ErrSeparate or ErrFewPatients.
func Cox(liners []Liner, columns [][]float64) (Hazards, error) {
	f, err := newCoxFit(liners, columns)
	if err != nil {
		return Hazards{}, err
	}
	h := Hazards{N: len(f.liners), Patients: f.people, Clustered: f.patient != nil, Failed: f.failed(), fit: f}
	var compared bool
	if h.Events, compared = f.revisions(); !compared {
		return Hazards{}, ErrNoEvent
	}
	null := f.sums(make([]float64, f.p))
	if h.Score, err = quadratic(null.score, null.info); err != nil {
		return Hazards{}, ErrSame
	}
	if err := f.climb(null); err != nil {
		return Hazards{}, err
	}
	h.NullLik, h.LogLik = null.lik, f.best.lik
	h.Likelihood = newTest(max(0, 2*(h.LogLik-h.NullLik)), f.p)
	return h.withErrors(null)
}

// withErrors fills in what rests on the covariance of the coefficients.
func (h Hazards) withErrors(null coxSums) (Hazards, error) {
	f := h.fit
	var naive mat.SymDense
	if err := f.best.factor.InverseTo(&naive); err != nil {
		return Hazards{}, ErrSame
	}
	for j := range f.p {
		h.Naive = append(h.Naive, math.Sqrt(naive.At(j, j))/f.scale[j])
	}
	cov, df := &naive, infinite
	if h.Clustered {
		var err error
		if cov, df, err = h.between(null, &naive); err != nil {
			return Hazards{}, err
		}
	}
	var err error
	if h.Wald, err = quadratic(f.best.beta, cov); err != nil {
		return Hazards{}, ErrFewPatients
	}
	if h.Clustered {
		h.Wald.P = distuv.F{D1: float64(f.p), D2: df}.Survival(h.Wald.ChiSquare / float64(f.p))
	}
	for j := range f.p {
		scale := f.scale[j]
		h.Coef = append(h.Coef, wearfit.Estimate{Value: f.best.beta[j] / scale, SE: math.Sqrt(cov.At(j, j)) / scale, DF: df})
	}
	return h, nil
}

// between returns the covariance between patients, corrected for how few there are,
// and its degrees of freedom.
func (h *Hazards) between(null coxSums, naive *mat.SymDense) (cov *mat.SymDense, df float64, err error) {
	f := h.fit
	if h.Failed <= f.p {
		return nil, 0, ErrFewPatients
	}
	meat, err := f.meat(null)
	if err != nil {
		return nil, 0, err
	}
	if h.RobustScore, err = quadratic(null.score, meat); err != nil {
		return nil, 0, ErrFewPatients
	}
	if cov, err = f.robust(naive); err != nil {
		return nil, 0, err
	}
	for j := range f.p {
		h.Robust = append(h.Robust, math.Sqrt(cov.At(j, j))/f.scale[j])
	}
	df = float64(h.Failed - f.p)
	cov.ScaleSym(float64(h.Failed)/df, cov)
	return cov, df, nil
}

// coxFit is the data of a regression, its columns brought to mean 0 and SD 1.
type coxFit struct {
	*cohort
	p     int
	x     [][]float64 // by liner
	scale []float64   // SD of each column
	best  coxSums
}

func newCoxFit(liners []Liner, columns [][]float64) (*coxFit, error) {
	c, err := newCohort(liners)
	if err != nil {
		return nil, err
	}
	f := &coxFit{cohort: c, p: len(columns)}
	if f.p == 0 {
		return nil, ErrSame
	}
	order := inOrder(liners)
	f.x = make([][]float64, len(liners))
	for i := range f.x {
		f.x[i] = make([]float64, f.p)
	}
	for j, column := range columns {
		mean, sd, err := spread(column, len(liners))
		if err != nil {
			return nil, &ColumnError{j, err}
		}
		f.scale = append(f.scale, sd)
		for i, at := range order {
			f.x[i][j] = (column[at] - mean) / sd
		}
	}
	return f, nil
}

// revisions counts them, and says whether one was while another liner stayed.
func (c *cohort) revisions() (n int, compared bool) {
	for _, m := range c.moments {
		d := m.ends[Revised]
		n += d
		compared = compared || d > 0 && d < len(c.liners)-m.first
	}
	return n, compared
}

// spread returns mean and SD of a column of n values that differ.
func spread(column []float64, n int) (mean, sd float64, err error) {
	if len(column) != n {
		return 0, 0, fmt.Errorf("%d values for %d liners", len(column), n)
	}
	for _, v := range column {
		if math.IsNaN(v) || math.Abs(v) > 1e100 {
			return 0, 0, wearfit.ErrRange
		}
		mean += v / float64(n)
	}
	for _, v := range column {
		sd += (v - mean) * (v - mean) / float64(n)
	}
	if sd = math.Sqrt(sd); !(sd > 1e-12*math.Abs(mean)) || sd < 1e-100 {
		return 0, 0, ErrAlike
	}
	return mean, sd, nil
}

// climb takes Newton's steps from 0 to the greatest likelihood, halved where they
// lead down. Where the likelihood has no maximum the steps do not become shorter.
func (f *coxFit) climb(start coxSums) error {
	at := start
	const most = 40 // a fit with a maximum takes some ten
	for range most {
		step, ok := at.newton()
		if !ok {
			break
		}
		next, scale := f.sums(added(at.beta, step, 1)), 1.0
		for !(next.lik >= at.lik-1e-12*math.Abs(at.lik)) && scale > 1e-6 {
			scale /= 2
			next = f.sums(added(at.beta, step, scale))
		}
		long := 0.0
		for _, s := range step {
			long = max(long, math.Abs(s*scale))
		}
		at = next
		if long < 1e-9 {
			if _, ok = at.newton(); !ok || flat(at.info, start.info) {
				break
			}
			f.best = at
			return nil
		}
	}
	return ErrSeparate
}

// flat says that hardly anything of the curvature is left in a column: rounding has
// ended a climb without a maximum.
func flat(info, start *mat.SymDense) bool {
	for j := range info.SymmetricDim() {
		if info.At(j, j) < 1e-6*start.At(j, j) {
			return true
		}
	}
	return false
}

func added(a, b []float64, scale float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] + scale*b[i]
	}
	return out
}
