package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"linerwatch/wearfit"
)

// HipEffects is how far a hip is from the fixed effects: the conditional modes
// of its random effects and their conditional standard deviations, the fixed
// effects and variances taken as known.
type HipEffects struct {
	Hip                   string
	Films                 int
	Intercept, Slope      float64
	SDIntercept, SDSlope  float64
	Patient, PatientSlope float64 // the effects of its patient
	reach                 reach
}

// reach is what a patient's films tell of the four effects of a hip, its own
// intercept and slope and its patient's: with M their columns and V the covariance
// of the films, M'V⁻¹M, M'V⁻¹(y - Xb) and X'V⁻¹M, in the units of the blocks.
type reach struct {
	mm [4][4]float64
	mr [4]float64
	mx [4][]float64
}

// films are one patient's with the inverse of their covariance.
type films struct {
	lo, n int
	v, r  []float64 // V⁻¹, n by n, and V⁻¹(y - Xb)
	x     []float64 // V⁻¹X, n by p
}

// open returns the films of patient p.
func (b *blocks) open(p int, nat, beta []float64) films {
	k := b.p + 1
	lo, hi := b.hipAt[b.first[p]], b.hipAt[b.first[p+1]]
	n := hi - lo
	f := films{lo: lo, n: n, v: make([]float64, n*n), r: make([]float64, n), x: make([]float64, n*b.p)}
	b.cover(f.v, p, nat)
	invert(f.v, n)
	for i := range n {
		row := f.x[i*b.p : (i+1)*b.p]
		for j, v := range f.v[i*n : i*n+n] {
			w := b.w[(lo+j)*k : (lo+j)*k+k]
			floats.AddScaled(row, v, w[:b.p])
			f.r[i] += v * (w[b.p] - floats.Dot(w[:b.p], beta))
		}
	}
	return f
}

// reach returns what the films tell of the hip at place h among them.
func (b *blocks) reach(f films, h int) reach {
	var out reach
	m := make([][]float64, 4)
	for e := range m {
		m[e], out.mx[e] = make([]float64, f.n), make([]float64, b.p)
	}
	for i := range f.n {
		at := f.lo + i
		if at >= b.hipAt[h] && at < b.hipAt[h+1] {
			m[0][i], m[1][i] = 1, b.time[at]
		}
		if b.parts.patients {
			m[2][i], m[3][i] = 1, b.time[at]
		}
	}
	for e := range m {
		for i, v := range m[e] {
			if v == 0 {
				continue
			}
			out.mr[e] += v * f.r[i]
			floats.AddScaled(out.mx[e], v, f.x[i*b.p:(i+1)*b.p])
			row := f.v[i*f.n : i*f.n+f.n]
			for g := range m {
				out.mm[e][g] += v * floats.Dot(row, m[g])
			}
		}
	}
	return out
}

// pull returns the covariance of k times a hip's line, its patient's part too, with
// the four effects, and its variance.
func pull(nat []float64, k [2]float64) (a [4]float64, v float64) {
	for part := range 2 {
		d := nat[3*part : 3*part+3]
		a[2*part], a[2*part+1] = d[0]*k[0]+d[1]*k[1], d[1]*k[0]+d[2]*k[1]
		v += k[0]*a[2*part] + k[1]*a[2*part+1]
	}
	return a, v
}

// told returns what the films leave of a variance v, the fixed effects known, and
// the expectation.
func (r reach) told(a [4]float64, v float64) (mean, variance float64) {
	for e, x := range a {
		mean += x * r.mr[e]
		for g, y := range a {
			v -= x * y * r.mm[e][g]
		}
	}
	return mean, max(v, 0)
}

// Effects returns every hip's effects, in order of appearance.
func (m Model) Effects() []HipEffects {
	b := m.whole()
	out := make([]HipEffects, len(b.sums.names))
	name := make([]int, len(b.order)) // by place
	for i, h := range b.order {
		name[h] = i
	}
	for p := range len(b.first) - 1 {
		f := b.open(p, m.nat, m.beta)
		for h := b.first[p]; h < b.first[p+1]; h++ {
			out[name[h]] = m.effectsOf(b, f, h, b.sums.names[name[h]])
		}
	}
	return out
}

// effectsOf are those of the hip at place h.
func (m Model) effectsOf(b *blocks, f films, h int, name string) HipEffects {
	e := HipEffects{Hip: name, Films: b.hipAt[h+1] - b.hipAt[h], reach: b.reach(f, h)}
	intercept, slope := m.columns()
	own := func(part int, k [2]float64) (float64, float64) {
		only := make([]float64, 6)
		copy(only[part:part+3], m.nat[part:part+3])
		a, v := pull(only, k)
		mean, left := e.reach.told(a, v)
		return m.unit * mean, m.unit * math.Sqrt(left)
	}
	e.Intercept, e.SDIntercept = own(hipPart, intercept)
	e.Slope, e.SDSlope = own(hipPart, slope)
	e.Patient, _ = own(patientPart, intercept)
	e.PatientSlope, _ = own(patientPart, slope)
	return e
}

// columns are intercept and slope as combinations of those of scaled time.
func (m Model) columns() (intercept, slope [2]float64) {
	return [2]float64{1, -m.stats.center / m.stats.scale}, [2]float64{0, 1 / m.stats.scale}
}

// Hip returns the effects of one hip. For all hips call Effects once.
func (m Model) Hip(name string) (HipEffects, bool) {
	for _, e := range m.Effects() {
		if e.Hip == name {
			return e, true
		}
	}
	return HipEffects{}, false
}

// Shrunken is a hip's own line, drawn towards its group's as far as its films
// tell little.
type Shrunken struct {
	Hip             string
	Films           int
	Intercept, Rate wearfit.Estimate
}

// Shrink returns the line of a hip whose group has intercept and rate as the
// given combinations of the fixed effects. The standard errors are those of
// prediction: they hold the uncertainty of the fixed effects too, not that of
// the variances (Robinson GK. Stat Sci 1991;6:15-32). The effects of the hip's
// patient are part of its line and of its error.
func (m Model) Shrink(e HipEffects, intercept, rate []float64) Shrunken {
	a, b := m.columns()
	return Shrunken{Hip: e.Hip, Films: e.Films, Intercept: m.predict(e, intercept, a), Rate: m.predict(e, rate, b)}
}

// predict adds the fixed part c'beta to a random part k'b and returns the error of
// prediction.
func (m Model) predict(e HipEffects, c []float64, k [2]float64) wearfit.Estimate {
	a, v := pull(m.nat, k)
	mean, left := e.reach.told(a, v)
	x := m.stats.forward(c)
	for j, f := range a {
		floats.AddScaled(x, -f, e.reach.mx[j])
	}
	left += floats.Dot(x, solve(m.chol, x))
	return wearfit.Estimate{Value: floats.Dot(m.Coef, c) + m.unit*mean, SE: m.unit * math.Sqrt(left), DF: math.Inf(1)}
}

// Residuals returns each film's distance from the line of its own hip.
func (m Model) Residuals() []float64 {
	all := m.Effects()
	out := make([]float64, m.N)
	for i, y := range m.data.Value {
		e := all[m.stats.index[i]]
		out[i] = y - e.Intercept - e.Patient - (e.Slope+e.PatientSlope)*m.data.Time[i]
		for j, c := range m.data.Fixed {
			out[i] -= m.Coef[j] * c[i]
		}
	}
	return out
}
