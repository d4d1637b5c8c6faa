package settle

import (
	"errors"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
	"linerwatch/wearfit/internal/seek"
)

// Cohort is the fitted model of all hips.
type Cohort struct {
	Films, Hips int
	// Creep and Rate are the coefficients of the columns for bedding-in (mm) and
	// rate (mm/year); Cov is their covariance, Creep's first, by the restricted
	// likelihood, what varies between hips not taken as known.
	Creep, Rate []float64
	Cov         *mat.SymDense
	// Tau is the middle time constant, years; SDLogTau the SD of its logarithm
	// between hips.
	Tau, SDLogTau         float64
	SDCreep, SDRate, Corr float64
	// Sigma is what films scatter beyond their known errors, mm.
	Sigma float64
	// LogLik is the logarithm of the likelihood of the differences between the
	// films of each hip at these values.
	LogLik float64
	// Low and High say whether the films tell that the time constant is above the
	// shortest and below the longest that could show in them.
	Low, High bool
	// SELogTau is the standard error of ln Tau, 0 where the films do not tell it.
	SELogTau float64
	// LogTau are the coefficients of the columns for the logarithm of the time constant,
	// Tau being that of the mean hip; SETau their standard errors, nil where the films do
	// not tell the time constant.
	LogTau, SETau []float64
	// Boundary says that a variance is at 0, the correlation at ±1, or SDLogTau
	// below 0.05, which the films do not tell from 0, or at the limit of its range.
	Boundary bool
	// Uncorrelated says that bedding-in and rate are taken so: asked, or as the films
	// tell no more.
	Uncorrelated bool
	Converged    bool
	Evals        int // of the likelihood, after the start
	Nodes        int // of the time constant

	model *model
	best  []float64 // the most likely parameters
	most  float64   // likelihood there
	th    []float64 // those of the restricted likelihood
	split *split
	x     []float64 // search coordinates of split
	bent  bent
	once  sync.Once
	turn  []*mat.SymDense // derivatives of Cov over what varies
}

// Fit maximises the restricted likelihood: levels integrated out exactly,
// bedding-in and rate of each hip exactly for each time constant, the time
// constant by quadrature, the fixed effects by Laplace's method. Where that finds no
// best fit, as of few hips of three films, bedding-in and rate are taken as uncorrelated.
func Fit(d Data, o Options) (*Cohort, error) {
	tb, err := newTable(d)
	if err != nil {
		return nil, err
	}
	c, err := fit(tb, o)
	if errors.Is(err, ErrSearch) && !o.Uncorrelated {
		return fit(tb, Options{Uncorrelated: true})
	}
	return c, err
}

func fit(tb *table, o Options) (*Cohort, error) {
	c := &Cohort{Films: tb.films, Hips: len(tb.hips), Uncorrelated: o.Uncorrelated, model: newModel(tb, o)}
	if err := c.search(); err != nil {
		return nil, err
	}
	return c, nil
}

// leastNodes and mostNodes are how many intervals of the time constant's
// logarithm are begun with and ended at; nodesTol is how much the logarithm of
// the likelihood may change when they are doubled.
const (
	leastNodes = 20
	mostNodes  = 320
	nodesTol   = 1e-4
)

// bestTol is how near to its most the logarithm of the likelihood is brought.
const bestTol = 1e-4

func (c *Cohort) search() error {
	m := c.model
	starts := m.starts()
	if len(starts) == 0 {
		return ErrSearch
	}
	from := starts[0]
	if len(starts) > 1 {
		most := math.Inf(-1)
		for _, s := range starts {
			if found, at := m.best(s.th, m.all(), nil, 0.01); -found.Value > most {
				most, from = -found.Value, start{at, found.Second}
			}
		}
	}
	top, err := c.refine(from)
	if err != nil {
		return err
	}
	c.tell(top)
	return c.restrict(c.best)
}

// refine takes as many nodes as are needed.
func (c *Cohort) refine(from start) (top seek.Minimum, err error) {
	m := c.model
	for n := leastNodes; n <= mostNodes; n *= 2 {
		m.nodes = newNodes(n)
		top, c.best = m.best(from.th, m.all(), from.second, bestTol)
		if math.IsInf(top.Value, 0) {
			return top, ErrSearch
		}
		from = start{c.best, top.Second}
		c.Evals += top.Evals
		c.most, c.Converged, c.Nodes = -top.Value, top.Converged, n+1
		m.nodes = newNodes(2 * n)
		if twice := m.plain(c.best); math.Abs(twice-c.most) < nodesTol {
			m.nodes = newNodes(n)
			return top, nil
		}
	}
	return top, ErrSearch
}

// restrict takes the parameters from the most likely to those of the restricted
// likelihood, and gives the fixed effects their errors.
func (c *Cohort) restrict(th []float64) error {
	m, k := c.model, c.model.fixed()
	s := &split{model: m}
	x := m.outside(th)
	x[k+mu] = th[k+mu]
	for j := range k {
		s.b = append(s.b, j)
	}
	if c.Low && c.High {
		s.b = append(s.b, k+mu)
		for j := k + own; j < m.size(); j++ {
			s.b = append(s.b, j)
		}
	}
	for _, j := range m.all()[k+1:] {
		if j >= k+own {
			continue
		}
		if j == k+omega && (!c.Low || !c.High || math.Abs(th[j]) > nearLimit*mostOmega) {
			continue // nothing in the films holds it
		}
		s.psi = append(s.psi, j)
	}
	s.nudge(x)
	d, ok := s.restrict(x)
	if d.bb == nil {
		return ErrSearch
	}
	c.Converged = c.Converged && ok
	c.Evals += s.evals
	c.th = s.point(x)
	c.split, c.x, c.bent = s, x, d
	v, _ := m.value(c.th)
	c.LogLik = v - float64(m.contrasts)*math.Log(m.mm)
	return c.fill(&d)
}

// nearLimit is the part of its range above which omega is taken to be at its end.
const nearLimit = 0.98

// nudge takes an SD that is sought from 0, where the likelihood is level, so that
// the restricted one can say which way.
func (s *split) nudge(x []float64) {
	const least = 0.05
	for _, j := range s.psi {
		if k := j - s.fixed(); k != l10 && k != sigma && math.Abs(x[j]) < least {
			x[j] = least
		}
	}
}

// tell finds out whether the films tell the time constant: whether the likelihood
// at the ends of its range is less than at its best by what a 95 % interval
// leaves out. Where second derivatives place the ends far off, they are not tried.
func (c *Cohort) tell(top seek.Minimum) {
	const far = 6 // standard errors
	m, at := c.model, c.model.fixed()+mu
	c.Low, c.High = true, true
	if top.Converged {
		k := slices.Index(m.all(), at)
		unit := make([]float64, len(top.X))
		unit[k] = 1
		step, _ := seek.Newton(top.Second, unit)
		_, slope := bounded(top.X[k], m.lo, m.hi)
		if se := slope * math.Sqrt(step[k]); c.best[at]-far*se > m.lo && c.best[at]+far*se < m.hi {
			return
		}
	}
	limit := chi(0.95) / 2
	c.Low = c.drop(m.lo) > limit
	c.High = c.drop(m.hi) > limit
}

// drop is how much less likely the films are at best with mu held.
func (c *Cohort) drop(at float64) float64 {
	m := c.model
	held := append([]float64(nil), c.best...)
	held[m.fixed()+mu] = at
	var over []int
	for _, j := range m.all() {
		if j != m.fixed()+mu {
			over = append(over, j)
		}
	}
	found, _ := m.best(held, over, nil, bestTol)
	c.Evals += found.Evals
	return c.most + found.Value
}

// fill turns the parameters into those of the units given.
func (c *Cohort) fill(d *bent) error {
	m, k := c.model, c.model.fixed()
	v := c.th[k:]
	c.Creep, c.Rate = m.creep.back(c.th[:m.creep.n], m.mm), m.rate.back(c.th[m.creep.n:k], m.mm/m.years)
	c.Tau, c.SDLogTau = math.Exp(v[mu])*m.years, math.Abs(v[omega])
	c.SDCreep, c.SDRate = math.Abs(v[l00])*m.mm, math.Hypot(v[l10], v[l11])*m.mm/m.years
	c.Sigma = math.Abs(v[sigma]) * m.mm
	if s := math.Hypot(v[l10], v[l11]); s > 0 && v[l00] != 0 {
		c.Corr = v[l10] / s * math.Copysign(1, v[l00])
	}
	const least, alike = 1e-3, 0.05 // of the scatter of a hip's films; of time constants
	c.Boundary = c.SDCreep < least*m.mm || math.Hypot(v[l10], v[l11]) < least || math.Abs(v[l11]) < least ||
		c.SDLogTau < alike || c.SDLogTau > nearLimit*mostOmega
	var inv mat.SymDense
	if err := d.chol.InverseTo(&inv); err != nil {
		return ErrSearch
	}
	d.widen(&inv)
	c.Cov = mat.NewSymDense(k, nil)
	full := m.backward()
	c.Cov.CopySym(form(full, inv.SliceSym(0, k).(*mat.SymDense)))
	if c.Low && c.High {
		c.SELogTau = math.Sqrt(inv.At(k, k))
	}
	c.tellTau(&inv)
	for _, x := range append(append([]float64{c.Tau, c.Sigma, c.SDCreep, c.SDRate, c.LogLik}, c.Creep...), c.Rate...) {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return wearfit.ErrRange
		}
	}
	return nil
}

// tellTau sets what the time constant depends on, by the covariance of what is fixed.
func (c *Cohort) tellTau(cov *mat.SymDense) {
	m, k := c.model, c.model.fixed()
	n := m.tau.n
	if n == 1 {
		return
	}
	th := append([]float64{0}, c.th[k+own:]...)
	c.LogTau = m.tau.back(th, 1)[1:]
	if !c.Low || !c.High {
		return
	}
	for j := 1; j < n; j++ {
		x := make([]float64, n)
		x[j] = 1
		own := mat.NewVecDense(n, m.tau.forward(x))
		c.SETau = append(c.SETau, math.Sqrt(mat.Inner(own, cov.SliceSym(k, k+n), own)))
	}
}

// form returns b v b'.
func form(b mat.Matrix, v *mat.SymDense) *mat.SymDense {
	var x, y mat.Dense
	x.Mul(b, v)
	y.Mul(&x, b.T())
	n, _ := y.Dims()
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, y.At(i, j))
		}
	}
	return out
}

// backward is the matrix that takes the coefficients of the orthogonal columns to
// those given.
func (m *model) backward() *mat.Dense {
	k := m.fixed()
	out := mat.NewDense(k, k, nil)
	for j := range k {
		e := make([]float64, k)
		e[j] = 1
		col := append(m.creep.back(e[:m.creep.n], m.mm), m.rate.back(e[m.creep.n:], m.mm/m.years)...)
		out.SetCol(j, col)
	}
	return out
}
