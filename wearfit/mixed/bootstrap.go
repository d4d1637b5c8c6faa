package mixed

import (
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"

	"linerwatch/wearfit/internal/seek"
)

// ErrBootstrap says that too few of the cohorts that were drawn could be fitted.
var ErrBootstrap = errors.New("wearfit: too few of the drawn cohorts could be fitted")

// Bootstrap is a likelihood-ratio test whose distribution is had by drawing cohorts.
type Bootstrap struct {
	Statistic float64
	Draws     int // cohorts that were fitted by both models
	P         float64
}

// BootstrapRatio compares a model with one that lies within it, as LikelihoodRatio
// does, but by drawing cohorts from the smaller one and fitting both models to each:
// P is the share of statistics as large as the one seen, that one counted (Davison AC,
// Hinkley DV. Bootstrap Methods and their Application. Cambridge 1997, section 4.2;
// Halekoh U, Højsgaard S. J Stat Softw 2014;59(9)). It holds with few hips and at a
// variance's limit, where chi-square does not. The same seed gives the same draws.
func BootstrapRatio(larger, smaller Model, draws int, seed uint64) (Bootstrap, error) {
	r, err := LikelihoodRatio(larger, smaller)
	if err != nil {
		return Bootstrap{}, err
	}
	stats := make([]float64, draws)
	each(draws, func(i int) {
		stats[i] = math.NaN()
		y := smaller.draw(rand.New(rand.NewPCG(seed, uint64(i))))
		l, err1 := larger.again(y)
		s, err2 := smaller.again(y)
		if errors.Join(err1, err2) == nil {
			stats[i] = 2 * (l - s)
		}
	})
	b := Bootstrap{Statistic: r.Statistic, P: 1}
	for _, v := range stats {
		if math.IsNaN(v) {
			continue
		}
		b.Draws++
		if v >= r.Statistic-1e-9 { // at a limit both are 0 but for rounding
			b.P++
		}
	}
	if b.Draws < draws*9/10 || draws == 0 {
		return Bootstrap{}, ErrBootstrap
	}
	b.P /= float64(b.Draws + 1)
	return b, nil
}

// each runs work for 0 to n-1 on all processors.
func each(n int, work func(i int)) {
	var wg sync.WaitGroup
	workers := min(runtime.GOMAXPROCS(0), n)
	for w := range workers {
		wg.Go(func() {
			for i := w; i < n; i += workers {
				work(i)
			}
		})
	}
	wg.Wait()
}

// again fits the model to other values and returns the log-likelihood. A model of whole
// blocks begins where it ended, but for variances of 0, which are where its gradient
// vanishes.
func (m Model) again(y []float64) (float64, error) {
	if m.spot == nil {
		d := m.data
		d.Value = y
		f, err := Fit(d, m.Options)
		return f.LogLik, err
	}
	b := *m.whole()
	b.w = slices.Clone(b.w)
	b.setValues(y)
	x := b.search(m.nat)
	for i, j := range b.parts.active() {
		if !corr(j) {
			x[i] = max(x[i], 0.1)
		}
	}
	top := seek.Minimise(b.deviance(m.Options.ML), x, nil, leastStep)
	if !top.Converged {
		return 0, ErrBootstrap
	}
	dev := b.eval(b.variances(top.X), m.Options.ML).dev
	return -(dev + m.ofUnit() + b.logScale(m.Options.ML)) / 2, nil
}

// draw returns values of a cohort with the hips and times of the model's, and with
// its parameters as the truth.
func (m Model) draw(r *rand.Rand) []float64 {
	b := m.whole()
	y := make([]float64, m.N)
	for p := range len(b.first) - 1 {
		lo, hi := b.hipAt[b.first[p]], b.hipAt[b.first[p+1]]
		n := hi - lo
		v := make([]float64, n*n)
		b.cover(v, p, m.nat)
		cholesky(v, n)
		z := make([]float64, n)
		for i := range z {
			z[i] = r.NormFloat64()
			y[b.rows[lo+i]] = m.unit * floats.Dot(v[i*n:i*n+i+1], z[:i+1])
		}
	}
	for i := range y {
		for j, c := range m.data.Fixed {
			y[i] += m.Coef[j] * c[i]
		}
	}
	return y
}
