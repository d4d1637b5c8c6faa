package mixed

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/wearfit"
)

// ErrorRatio is how the films scatter about their hips' lines, over what is stated
// of their readings.
type ErrorRatio struct {
	Ratio    float64 // 1 where both agree
	DF       float64
	Interval wearfit.Interval
	P        float64 // two-sided, of a ratio of 1
}

// CompareErrors fits the model with the stated errors of d taken as right but for one
// factor, which is the ratio. Its square is about a chi-square over its degrees of
// freedom, which come from the expected information of restricted likelihood as
// Satterthwaite's do (Biometrics 1946;2:110-114).
func CompareErrors(d Data, o Options, level float64) (ErrorRatio, error) {
	if d.SE == nil || slices.Min(d.SE) <= 0 {
		return ErrorRatio{}, ErrSE
	}
	d.Class, o.ML, o.ScaleSE = nil, false, true
	m, err := Fit(d, o)
	if err != nil {
		return ErrorRatio{}, err
	}
	k, err := NewKenward(m)
	if err != nil {
		return ErrorRatio{}, err
	}
	last := len(k.dphi) - 1 // the only class
	square := m.Sigma * m.Sigma
	r := ErrorRatio{Ratio: m.Sigma, DF: 2 * square * square / k.w.At(last, last)}
	if !finite(r.DF) || !(r.DF > 0) {
		return ErrorRatio{}, ErrUntold
	}
	chi := distuv.ChiSquared{K: r.DF}
	r.Interval = wearfit.Interval{Lo: m.Sigma * math.Sqrt(r.DF/chi.Quantile((1+level)/2)), Hi: m.Sigma * math.Sqrt(r.DF/chi.Quantile((1-level)/2))}
	below := chi.CDF(r.DF * square)
	r.P = min(1, 2*min(below, 1-below))
	return r, nil
}

// FilmResidual is a film's distance from the line of its own hip.
type FilmResidual struct {
	Fitted, Residual float64
	Standard         float64 // over its own standard deviation
}

// HipResidual is how far a hip's effects are from 0, over their standard deviations, and
// what the normal distribution expects of an effect of that rank. 0 where an effect has
// no variance.
type HipResidual struct {
	Hip                             string
	Intercept, Rate                 float64
	InterceptQuantile, RateQuantile float64
}

// Diagnose returns values for plots: of every film, in the order of the data, and of
// every hip, in order of appearance. With P the projection that takes out the fixed
// effects, a film's residual is that of Py times its variance, and a hip's effects DZ'Py,
// each divided by its own standard deviation (Nobre JS, Singer JM. Biom J
// 2007;49:863-875).
func (m Model) Diagnose() ([]FilmResidual, []HipResidual) {
	b := m.whole()
	out := make([]FilmResidual, m.N)
	hips := make([]HipResidual, len(b.order))
	name := make([]int, len(b.order)) // by place
	for i, h := range b.order {
		name[h] = i
	}
	residuals := m.Residuals()
	for p := range len(b.first) - 1 {
		f := b.open(p, m.nat, m.beta)
		for i := range f.n {
			x := f.x[i*b.p : (i+1)*b.p]
			row := b.rows[f.lo+i]
			v := f.v[i*f.n+i] - floats.Dot(x, solve(m.chol, x))
			r := residuals[row]
			out[row] = FilmResidual{m.data.Value[row] - r, r, f.r[i] / math.Sqrt(max(v, 1e-300))}
		}
		for h := b.first[p]; h < b.first[p+1]; h++ {
			hips[name[h]] = m.apart(b, b.reach(f, h), b.sums.names[name[h]])
		}
	}
	rank(hips, func(h *HipResidual) (float64, *float64) { return h.Intercept, &h.InterceptQuantile })
	rank(hips, func(h *HipResidual) (float64, *float64) { return h.Rate, &h.RateQuantile })
	return out, hips
}

// apart standardises the effects of a hip.
func (m Model) apart(b *blocks, r reach, name string) HipResidual {
	intercept, slope := m.columns()
	over := func(k [2]float64) float64 {
		only := make([]float64, 6)
		copy(only, m.nat[:3])
		a, _ := pull(only, k)
		mean, _ := r.told(a, 0)
		var v float64
		x := make([]float64, b.p)
		for e, f := range a {
			floats.AddScaled(x, f, r.mx[e])
			for g, h := range a {
				v += f * h * r.mm[e][g]
			}
		}
		if v -= floats.Dot(x, solve(m.chol, x)); v <= 1e-12 {
			return 0
		}
		return mean / math.Sqrt(v)
	}
	return HipResidual{Hip: name, Intercept: over(intercept), Rate: over(slope)}
}

// rank sets the normal quantile of each hip's rank, of n the (i - 1/2)/n.
func rank(hips []HipResidual, of func(h *HipResidual) (value float64, quantile *float64)) {
	order := make([]int, len(hips))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, _ := of(&hips[i])
		b, _ := of(&hips[j])
		switch {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return 0
	})
	for k, i := range order {
		_, q := of(&hips[i])
		*q = distuv.UnitNormal.Quantile((float64(k) + 0.5) / float64(len(hips)))
	}
}
