package wearfit

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// Bedding is bedding-in that dies away and wear that goes on:
// y = Origin + Creep (1 - exp(-u/Tau)) + Rate u, u being the time since the first film.
// Origin is the value at that film, since films are counted from one of them, the
// baseline, which has an error of its own. Bedding-in before the first film is not seen.
type Bedding struct {
	N                int
	Origin           float64
	Creep, Tau, Rate float64
	RSS, Sigma       float64
	DF               int
	Residuals        []float64
	Leverage         []float64
	// Cov is the covariance of (Origin, Creep, Rate, ln Tau) by linearisation; nil
	// where the data do not tell the three apart.
	Cov *mat.SymDense
	// Minima are the local minima over Tau, the lowest first.
	Minima []Minimum

	search     tauSearch
	profile    profile
	model      partial
	grid       []float64 // logarithms of Tau, in order
	rss        []float64 // of the fits there
	best       int       // where that of Tau is
	zero, last float64   // times of the first film and the last
	base       float64   // of the film from which a rise is counted

	prepared func() bend // once, when it is first asked for
}

// The time constant is sought from a tenth of the time to the second film, when all of
// the bedding-in is over on it, to twice the last, from where on the curve cannot be
// told from a parabola.
const (
	tauBelow = 10
	tauAbove = 2
	tauSteps = 120
)

// FitBedding fits the curve to five or more observations at four or more times from time
// zero, the operation, on. For each Tau the others are found exactly, and Tau is sought
// over the whole range, so that no start is needed and every local minimum is seen.
func FitBedding(t, y, w []float64) (Bedding, error) {
	if err := check(t, y, w, 5); err != nil {
		return Bedding{}, err
	}
	s, err := newTauSearch(t)
	if err != nil {
		return Bedding{}, err
	}
	return s.fit(y, w)
}

// BeddingRSS returns the function that finds the weighted sum of squares of FitBedding alone,
// for the weights of one fit after another of the same films.
func BeddingRSS(t, y []float64) func(w []float64) (float64, error) {
	s, err := newTauSearch(t)
	return func(w []float64) (float64, error) {
		if err != nil {
			return 0, err
		}
		p, err := s.profile(y, w)
		if err != nil {
			return 0, err
		}
		return s.minima(p, s.scan(p), 28)[0].RSS, nil
	}
}

// tauSearch is what the search of Tau needs of the films' times alone.
type tauSearch struct {
	t, u, x []float64 // times, those since the first film, and the distinct ones
	grid    []float64 // logarithms of Tau, in order
	cols    []float64 // what dies away at each of them, one column after another
}

func newTauSearch(t []float64) (tauSearch, error) {
	if err := check(t, t, nil, 5); err != nil {
		return tauSearch{}, err
	}
	s := tauSearch{t: t, x: distinct(t)}
	if s.x[0] < 0 {
		return s, ErrBeforeSurgery
	}
	if len(s.x) < 4 {
		return s, &TooFewTimesError{len(s.x), 4}
	}
	n := len(t)
	s.u, s.grid, s.cols = make([]float64, n), make([]float64, tauSteps+1), make([]float64, (tauSteps+1)*n)
	for i, v := range t {
		s.u[i] = v - s.x[0]
	}
	lo, hi := math.Log((s.x[1]-s.x[0])/tauBelow), math.Log((s.x[len(s.x)-1]-s.x[0])*tauAbove)
	for i := range s.grid {
		s.grid[i] = lo + (hi-lo)*float64(i)/tauSteps
		bed(s.cols[i*n:(i+1)*n], s.u, math.Exp(s.grid[i]))
	}
	return s, nil
}

func (s tauSearch) profile(y, w []float64) (profile, error) {
	if err := check(s.t, y, w, 5); err != nil {
		return profile{}, err
	}
	return newProfile(s.u, y, w)
}

// scan returns the sums of squares along the grid.
func (s tauSearch) scan(p profile) []float64 {
	n := len(s.u)
	rss := make([]float64, len(s.grid), len(s.grid)+1)
	for i := range rss {
		rss[i] = p.rss(s.cols[i*n : (i+1)*n])
	}
	return rss
}

// minima lists the local minima over the logarithm of Tau, the lowest first.
func (s tauSearch) minima(p profile, rss []float64, sections int) []Minimum {
	return alongGrid(s.at(p), s.grid, rss, sections)
}

// at is the profile over the logarithm of Tau.
func (s tauSearch) at(p profile) func(at float64) float64 {
	col := make([]float64, len(s.u))
	p.bent = make([]float64, len(s.u)) // several may look at once
	return func(at float64) float64 {
		bed(col, s.u, math.Exp(at))
		return p.rss(col)
	}
}

func (s tauSearch) fit(y, w []float64) (Bedding, error) {
	p, err := s.profile(y, w)
	if err != nil {
		return Bedding{}, err
	}
	n := len(s.t)
	b := Bedding{N: n, DF: n - 4, zero: s.x[0], last: s.x[len(s.x)-1], base: s.x[0], search: s, profile: p}
	b.rss = s.scan(p)
	b.Minima = s.minima(p, b.rss, 50)
	at := b.Minima[0].At
	for i := range b.Minima {
		b.Minima[i].At = math.Exp(b.Minima[i].At)
	}
	b.model = partial{cols: [][]float64{unit(n), nil, s.u}, bent: 1, y: y, w: w, df: b.DF, set: func(col []float64, at float64) {
		bed(col, s.u, math.Exp(at))
	}}
	l, err := FitLinear(b.model.design(at), y, w)
	if err != nil {
		return Bedding{}, err
	}
	b.Origin, b.Creep, b.Rate, b.Tau = l.Coef[0], l.Coef[1], l.Coef[2], math.Exp(at)
	b.RSS, b.Residuals, b.Leverage = l.RSS, l.Residuals, l.Leverage
	b.Sigma = math.Sqrt(b.RSS / float64(b.DF))
	b.model.best = b.RSS
	// The best point may lie between two of the grid.
	b.best, _ = slices.BinarySearch(s.grid, at)
	b.grid = slices.Insert(slices.Clip(s.grid), b.best, at)
	b.rss = slices.Insert(b.rss, b.best, b.Minima[0].RSS)
	b.linearise(s.u, y, w)
	b.prepared = sync.OnceValue(b.prepare)
	return b, nil
}

// settling returns 1 - exp(-u/tau).
func settling(t []float64, tau float64) []float64 {
	out := make([]float64, len(t))
	bed(out, t, tau)
	return out
}

// bed sets out to settling.
func bed(out, t []float64, tau float64) {
	for i, v := range t {
		out[i] = -math.Expm1(-v / tau)
	}
}

func (b *Bedding) linearise(t, y, w []float64) {
	d := make([]float64, len(t))
	for i, v := range t {
		d[i] = -b.Creep * v / b.Tau * math.Exp(-v/b.Tau)
	}
	l, err := FitLinear([][]float64{unit(len(t)), settling(t, b.Tau), t, d}, y, w)
	if err == nil && l.Sigma > 0 {
		b.Cov = scaledCov(l.Cov, b.Sigma/l.Sigma)
	}
}

// TauInterval returns the profile-likelihood interval of the time constant;
// 0 and +Inf are the open ends.
func (b Bedding) TauInterval(level float64) Interval {
	lo, hi := b.within(level)
	ci := Interval{0, math.Inf(1)}
	if !math.IsInf(lo, -1) {
		ci.Lo = math.Exp(lo)
	}
	if !math.IsInf(hi, 1) {
		ci.Hi = math.Exp(hi)
	}
	return ci
}

// within returns the hull of the logarithms of Tau whose fit is within the
// limit.
func (b Bedding) within(level float64) (lo, hi float64) {
	first, last := b.allowed(level)
	limit := b.model.limit(level)
	rss := b.search.at(b.profile)
	within := func(at float64) bool { return rss(at) <= limit }
	grid := b.grid
	lo, hi = math.Inf(-1), math.Inf(1)
	if first > 0 {
		lo = border(within, grid[first-1], grid[first])
	}
	if last < len(grid)-1 {
		hi = border(within, grid[last], grid[last+1])
	}
	return lo, hi
}

// allowed returns the first and the last point of the grid within the limit.
func (b Bedding) allowed(level float64) (first, last int) {
	limit := b.model.limit(level)
	first, last = 0, len(b.grid)-1
	for first < b.best && !(b.rss[first] <= limit) {
		first++
	}
	for last > b.best && !(b.rss[last] <= limit) {
		last--
	}
	return first, last
}

// Identifiable says whether the data tell the time constant: its 95 %
// interval is closed.
func (b Bedding) Identifiable() bool {
	first, last := b.allowed(0.95)
	return first > 0 && last < len(b.grid)-1
}

// RateInterval returns the profile-likelihood interval of the rate; unbounded
// where bedding-in may last as long as the films.
func (b Bedding) RateInterval(level float64) Interval { return b.combined([]float64{0, 0, 1}, level) }

// CreepInterval returns the profile-likelihood interval of the bedding-in;
// unbounded where it may last as long as the films.
func (b Bedding) CreepInterval(level float64) Interval { return b.combined([]float64{0, 1, 0}, level) }

func (b Bedding) combined(c []float64, level float64) Interval {
	if b.blind(level) {
		return Unbounded()
	}
	return b.bend(level).ends(always(c), 0, level)
}

// Since has RiseInterval and TimeTo count from time t, that of the baseline film. They
// count from the first film otherwise.
func (b Bedding) Since(t float64) Bedding {
	b.base = t
	return b
}

// Mean returns the curve at t.
func (b Bedding) Mean(t float64) float64 {
	u := t - b.zero
	return b.Origin - b.Creep*math.Expm1(-u/b.Tau) + b.Rate*u
}

// Rise returns how far the curve rises from the baseline film to t.
func (b Bedding) Rise(t float64) float64 { return b.Mean(t) - b.Mean(b.base) }

// Band returns the profile-likelihood interval of the curve at t, which is not
// negative, prepared for many times; unbounded after the last film where bedding-in may
// last as long as the films.
func (b Bedding) Band(level float64) func(t float64) Interval {
	m := sync.OnceValue(func() bend { return b.bend(level) })
	return func(t float64) Interval { return m().band(t, 0, level) }
}

// RiseInterval is Band for Rise at one time: the baseline film counts with its error.
func (b Bedding) RiseInterval(t, level float64) Interval {
	return b.bend(level).rise().band(t, 0, level)
}

// PredictInterval returns the interval of one further film of weight w at t, by
// profile likelihood: w is 1 where the fit was not weighted, 1/se² where its
// weights were. It is unbounded where the band is.
func (b Bedding) PredictInterval(t, w, level float64) Interval {
	return b.bend(level).band(t, 1/w, level)
}

// TimeTo returns when the curve has risen by level since the baseline film.
func (b Bedding) TimeTo(level, confidence float64) Crossing {
	return b.bend(confidence).rise().crossing(level, confidence, b.Rise)
}

// blind says that bedding-in may last as long as the films.
func (b Bedding) blind(level float64) bool {
	_, last := b.allowed(level)
	return last == len(b.grid)-1
}

// bend is prepared when it is first asked for.
func (b Bedding) bend(level float64) bend {
	m := b.prepared()
	m.first, m.blind = b.base, b.blind(level)
	return m
}

func (b Bedding) prepare() bend {
	return bend{partial: b.model, grid: b.grid, last: b.last, row: func(t, at float64) []float64 {
		u := t - b.zero
		return []float64{1, -math.Expm1(-u / math.Exp(at)), u}
	}}.prepare()
}

// alongGrid lists the local minima of f, whose values on grid are v, the
// lowest first, by so many golden sections each.
func alongGrid(f func(float64) float64, grid, v []float64, sections int) []Minimum {
	var out []Minimum
	last := len(grid) - 1
	for i := range grid {
		if (i > 0 && v[i-1] < v[i]) || (i < last && v[i+1] <= v[i]) {
			continue
		}
		at, low := golden(f, grid[max(i-1, 0)], grid[min(i+1, last)], sections)
		if v[i] <= low {
			at, low = grid[i], v[i]
		}
		out = append(out, Minimum{at, low})
	}
	return byRSS(out)
}
