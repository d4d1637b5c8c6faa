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
	x := distinct(t)
	if x[0] < 0 {
		return Bedding{}, ErrBeforeSurgery
	}
	if len(x) < 4 {
		return Bedding{}, &TooFewTimesError{len(x), 4}
	}
	b := Bedding{N: len(t), DF: len(t) - 4, zero: x[0], last: x[len(x)-1], base: x[0]}
	one, u := unit(len(t)), make([]float64, len(t))
	for i, v := range t {
		u[i] = v - b.zero
	}
	b.model = partial{cols: [][]float64{one, nil, u}, bent: 1, y: y, w: w, df: b.DF, set: func(col []float64, at float64) {
		bed(col, u, math.Exp(at))
	}}
	lo, hi := math.Log((x[1]-x[0])/tauBelow), math.Log((b.last-b.zero)*tauAbove)
	h := b.model.holder()
	b.grid, b.rss = make([]float64, tauSteps+1, tauSteps+2), make([]float64, tauSteps+1, tauSteps+2)
	for i := range b.grid {
		b.grid[i] = lo + (hi-lo)*float64(i)/tauSteps
		b.rss[i] = h.rss(b.grid[i])
	}
	b.Minima = alongGrid(h.rss, b.grid, b.rss)
	at := b.Minima[0].At
	for i := range b.Minima {
		b.Minima[i].At = math.Exp(b.Minima[i].At)
	}
	l, err := FitLinear(b.model.design(at), y, w)
	if err != nil {
		return Bedding{}, err
	}
	b.Origin, b.Creep, b.Rate, b.Tau = l.Coef[0], l.Coef[1], l.Coef[2], math.Exp(at)
	b.RSS, b.Residuals, b.Leverage = l.RSS, l.Residuals, l.Leverage
	b.Sigma = math.Sqrt(b.RSS / float64(b.DF))
	b.model.best = b.RSS
	// The best point may lie between two of the grid.
	b.best, _ = slices.BinarySearch(b.grid, at)
	b.grid = slices.Insert(b.grid, b.best, at)
	b.rss = slices.Insert(b.rss, b.best, h.rss(at))
	b.linearise(u, y, w)
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
	h := b.model.holder()
	within := func(at float64) bool { return h.rss(at) <= limit }
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
// lowest first.
func alongGrid(f func(float64) float64, grid, v []float64) []Minimum {
	var out []Minimum
	last := len(grid) - 1
	for i := range grid {
		if (i > 0 && v[i-1] < v[i]) || (i < last && v[i+1] <= v[i]) {
			continue
		}
		at, low := golden(f, grid[max(i-1, 0)], grid[min(i+1, last)], 50)
		if v[i] <= low {
			at, low = grid[i], v[i]
		}
		out = append(out, Minimum{at, low})
	}
	return byRSS(out)
}
