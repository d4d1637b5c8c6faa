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
	Hip                  string
	Films                int
	Intercept, Slope     float64
	SDIntercept, SDSlope float64
	Patient              float64 // the effect of its patient
	place                int
	conditional          [3]float64   // covariance of intercept and slope, over sigma², in scaled time
	reach                [2][]float64 // X'V⁻¹Z: columns intercept and slope, in scaled time
	patient              shared
}

// shared is what the hips of one patient have in common: 1 is a column of ones
// for all films of the patient.
type shared struct {
	ones  float64    // 1'V⁻¹1
	cross [2]float64 // 1'V⁻¹Z of the hip
	reach []float64  // X'V⁻¹1
}

// Effects returns every hip's effects, in order of appearance.
func (m Model) Effects() []HipEffects {
	s := m.stats
	out := make([]HipEffects, len(s.names))
	where := make([]int, len(s.names))
	for k, h := range s.order {
		where[h] = k
	}
	c := append(append([]float64(nil), m.at.beta...), -1)
	t := newTally(s.p + 1)
	for p := 0; p+1 < len(s.first); p++ {
		s.add(t, m.at.th, s.first[p], s.first[p+1])
		m.effectsOf(t, c, s.first[p], s.first[p+1], out, where)
	}
	return out
}

// effectsOf fills in the hips of one patient, whose U and Z'V⁻¹Z stand in t.
func (m Model) effectsOf(t *tally, c []float64, lo, hi int, out []HipEffects, where []int) {
	s, th := m.stats, m.at.th
	k := s.p + 1
	d00, d01, d11 := th[0]*th[0], th[0]*th[1], th[1]*th[1]+th[2]*th[2]
	var patient float64
	for h := lo; h < hi; h++ {
		u0, u1 := t.u[2*k*(h-lo):2*k*(h-lo)+k], t.u[2*k*(h-lo)+k:2*k*(h-lo)+2*k]
		r0, r1 := -floats.Dot(u0, c), -floats.Dot(u1, c)
		patient += th[3] * th[3] * r0
		z := t.zvz[h-lo]
		e := HipEffects{Hip: s.names[where[h]], Films: int(s.zz[3*h]), place: h}
		b0, b1 := d00*r0+d01*r1, d01*r0+d11*r1
		e.Slope = b1 / s.scale
		e.Intercept = b0 - s.center*e.Slope
		// D - D Z'V⁻¹Z D
		a00, a01 := d00*z[0]+d01*z[1], d00*z[1]+d01*z[2]
		a10, a11 := d01*z[0]+d11*z[1], d01*z[1]+d11*z[2]
		e.conditional = [3]float64{d00 - a00*d00 - a01*d01, d01 - a00*d01 - a01*d11, d11 - a10*d01 - a11*d11}
		q := s.center / s.scale
		v := e.conditional
		e.SDIntercept = m.Sigma * math.Sqrt(max(v[0]-2*q*v[1]+q*q*v[2], 0))
		e.SDSlope = m.Sigma * math.Sqrt(max(v[2], 0)) / s.scale
		for j := range s.p {
			e.reach[0] = append(e.reach[0], u0[j])
			e.reach[1] = append(e.reach[1], u1[j])
		}
		out[where[h]] = e
	}
	all := m.common(t, lo, hi)
	for h := lo; h < hi; h++ {
		out[where[h]].Patient, out[where[h]].patient = patient, all[h-lo]
	}
}

// common returns for each hip of one patient what it shares with the others.
func (m Model) common(t *tally, lo, hi int) []shared {
	s, k := m.stats, m.stats.p+1
	out := make([]shared, hi-lo)
	if !contains(s.free, 3) {
		return out
	}
	var sum float64 // of the films' precision without the shared effect
	reach := make([]float64, s.p)
	for h := range out {
		z := s.zz[3*(lo+h) : 3*(lo+h)+3]
		_, k00, k01, k11 := m.at.th.kernel(z)
		p00, p01 := 1-z[0]*k00-z[1]*k01, -z[0]*k01-z[1]*k11
		out[h].cross = [2]float64{p00*z[0] + p01*z[1], p00*z[1] + p01*z[2]}
		sum += out[h].cross[0]
		addTo(reach, t.u[2*k*h:2*k*h+s.p])
	}
	d := 1 + m.at.th[3]*m.at.th[3]*sum
	for h := range out {
		out[h].ones, out[h].reach = sum/d, reach
		out[h].cross[0] /= d
		out[h].cross[1] /= d
	}
	return out
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
// the variances (Robinson GK. Stat Sci 1991;6:15-32). The effect of the hip's
// patient is part of the intercept and of its error.
func (m Model) Shrink(e HipEffects, intercept, rate []float64) Shrunken {
	q, sc := m.stats.center/m.stats.scale, m.stats.scale
	return Shrunken{Hip: e.Hip, Films: e.Films,
		Intercept: m.predict(e, intercept, e.Intercept+e.Patient, [2]float64{1, -q}, m.at.th[3]*m.at.th[3]),
		Rate:      m.predict(e, rate, e.Slope, [2]float64{0, 1 / sc}, 0),
	}
}

// predict adds the fixed part c'beta to a random part k'b, and the patient's
// effect where its variance tau2 over sigma² counts, and returns the error of
// prediction.
func (m Model) predict(e HipEffects, c []float64, random float64, k [2]float64, tau2 float64) wearfit.Estimate {
	th := m.at.th
	d00, d01, d11 := th[0]*th[0], th[0]*th[1], th[1]*th[1]+th[2]*th[2]
	dk0, dk1 := d00*k[0]+d01*k[1], d01*k[0]+d11*k[1]
	x := m.stats.forward(c)
	v := e.conditional[0]*k[0]*k[0] + 2*e.conditional[1]*k[0]*k[1] + e.conditional[2]*k[1]*k[1]
	for j := range x {
		x[j] -= e.reach[0][j]*dk0 + e.reach[1][j]*dk1
	}
	if tau2 > 0 {
		for j := range x {
			x[j] -= tau2 * e.patient.reach[j]
		}
		v += tau2 - 2*tau2*(e.patient.cross[0]*dk0+e.patient.cross[1]*dk1) - tau2*tau2*e.patient.ones
	}
	v += floats.Dot(x, m.at.solve(x))
	return wearfit.Estimate{Value: floats.Dot(m.Coef, c) + random, SE: m.Sigma * math.Sqrt(max(v, 0)), DF: math.Inf(1)}
}

// Residuals returns each film's distance from the line of its own hip.
func (m Model) Residuals() []float64 {
	all := m.Effects()
	out := make([]float64, m.N)
	for i, y := range m.data.Value {
		e := all[m.index[i]]
		out[i] = y - e.Intercept - e.Patient - e.Slope*m.data.Time[i]
		for j, c := range m.data.Fixed {
			out[i] -= m.Coef[j] * c[i]
		}
	}
	return out
}
