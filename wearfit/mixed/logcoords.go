package mixed

import "math"

// Logs are the coordinates of the integration: logarithms of the standard deviations
// and the inverse hyperbolic tangent of a correlation. In them the posterior density,
// with a flat prior of standard deviations and correlations, falls off to all sides
// like an exponential.

// fromLogs returns the variances of which x are the active logs.
func (b *blocks) fromLogs(x []float64) []float64 {
	r := b.roots(x) // by number
	v := make([]float64, len(r))
	for _, j := range b.parts.active() {
		if corr(j) {
			v[j] = math.Tanh(r[j]) * math.Exp(r[j-1]+r[j+1])
			continue
		}
		v[j] = math.Exp(2 * r[j])
	}
	return v
}

// corr says that a number is that of a correlation.
func corr(j int) bool { return j == hipPart+1 || j == patientPart+1 }

// toLogs is the reverse; a variance of 0 is taken for a small one.
func (b *blocks) toLogs(nat []float64) []float64 {
	const least = 0.05
	var x []float64
	for _, j := range b.parts.active() {
		if !corr(j) {
			x = append(x, math.Log(max(math.Sqrt(nat[j]), least)))
			continue
		}
		rho := 0.0
		if s := math.Sqrt(nat[j-1] * nat[j+1]); s > 0 {
			rho = max(-0.9, min(0.9, nat[j]/s))
		}
		x = append(x, math.Atanh(rho))
	}
	return x
}

// logChain returns for each active log the derivatives of the variances, by number.
func (b *blocks) logChain(x []float64) [][]float64 {
	v := b.fromLogs(x)
	r := b.roots(x)
	out := make([][]float64, len(x))
	for i, j := range b.parts.active() {
		d := make([]float64, len(v))
		switch {
		case corr(j):
			t := math.Tanh(r[j])
			d[j] = (1 - t*t) * math.Exp(r[j-1]+r[j+1])
		default:
			d[j] = 2 * v[j]
			for _, k := range []int{j - 1, j + 1} {
				if k >= 0 && k < filmPart && j < filmPart && corr(k) {
					d[k] = v[k]
				}
			}
		}
		out[i] = d
	}
	return out
}

// prior is the logarithm of the prior density in logs: flat standard deviations and
// correlations.
func (b *blocks) prior(x []float64) float64 {
	var s float64
	for i, j := range b.parts.active() {
		if corr(j) {
			s -= 2 * math.Log(math.Cosh(x[i]))
			continue
		}
		s += x[i]
	}
	return s
}

func (b *blocks) priorGradient(x []float64) []float64 {
	g := make([]float64, len(x))
	for i, j := range b.parts.active() {
		g[i] = 1
		if corr(j) {
			g[i] = -2 * math.Tanh(x[i])
		}
	}
	return g
}
