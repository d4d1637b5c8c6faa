package mixed

import (
	"math"

	"linerwatch/wearfit/internal/seek"
)

// roots are the coordinates of the search: the Cholesky factor of each line's
// variances and the standard deviation of the rest, by number as the variances
// are. A variance of zero is an ordinary point of them.

// variances returns those of which x is the active part of the roots.
func (b *blocks) variances(x []float64) []float64 {
	r := b.roots(x)
	v := make([]float64, len(r))
	for _, part := range []int{hipPart, patientPart} {
		v[part], v[part+1], v[part+2] = r[part]*r[part], r[part]*r[part+1], r[part+1]*r[part+1]+r[part+2]*r[part+2]
	}
	for j := filmPart; j < len(r); j++ {
		v[j] = r[j] * r[j]
	}
	return v
}

// roots returns all roots of which x is the active part.
func (b *blocks) roots(x []float64) []float64 {
	r := make([]float64, b.parts.all())
	for i, j := range b.parts.active() {
		r[j] = x[i]
	}
	return r
}

// activeRoots is the reverse of roots.
func (b *blocks) activeRoots(r []float64) []float64 {
	var x []float64
	for _, j := range b.parts.active() {
		x = append(x, r[j])
	}
	return x
}

// singular says that an effect has no variance of its own.
func (b *blocks) singular(x []float64) bool {
	const least = 1e-4 // of the residual standard deviation of a plain model
	r := b.roots(x)
	for _, j := range b.parts.active() {
		if j < classPart && j%patientPart != 1 && math.Abs(r[j]) < least {
			return true
		}
	}
	return false
}

// chain returns for each active root the derivatives of the variances, by number.
func (b *blocks) chain(x []float64) [][]float64 {
	r := b.roots(x)
	out := make([][]float64, len(x))
	for i, j := range b.parts.active() {
		d := make([]float64, len(r))
		switch {
		case j >= filmPart:
			d[j] = 2 * r[j]
		case j%patientPart == 0:
			d[j], d[j+1] = 2*r[j], r[j+1]
		case j%patientPart == 1:
			d[j], d[j+1] = r[j-1], 2*r[j]
		default:
			d[j] = 2 * r[j]
		}
		out[i] = d
	}
	return out
}

// deviance is the function that is minimised, of the active roots.
func (b *blocks) deviance(ml bool) seek.Function {
	return func(x []float64) (float64, []float64) {
		s := b.eval(b.variances(x), ml)
		g := make([]float64, len(x))
		for i, d := range b.chain(x) {
			for j, v := range d {
				if v != 0 {
					g[i] += v * s.grad[j]
				}
			}
		}
		return s.dev, g
	}
}

// begin returns roots near those of a plain model with factor f and residual
// variance sigma2, over unit², less what is known.
func (b *blocks) begin(f factor, sigma2 float64) []float64 {
	r := make([]float64, b.parts.all())
	sd := math.Sqrt(sigma2)
	var base float64
	for _, v := range b.base {
		base += v / float64(len(b.base))
	}
	r[hipPart] = math.Sqrt(max(f[0]*f[0]*sigma2-base, 0.1*f[0]*f[0]*sigma2, 1e-4*sigma2))
	r[hipPart+1], r[hipPart+2] = f[1]*sd, math.Abs(f[2])*sd
	if b.parts.patients {
		r[patientPart] = max(math.Abs(f[3]), 0.1) * sd
		r[patientPart+2] = r[hipPart+2] / 2
	}
	r[filmPart] = sd / 2
	n, known, times := make([]float64, b.parts.classes), make([]float64, b.parts.classes), make([]float64, b.parts.classes)
	for i, c := range b.class {
		n[c]++
		known[c] += b.known[i]
		times[c] += b.times[i]
	}
	for c := range n {
		r[classPart+c] = math.Sqrt(max(sigma2-known[c]/n[c], 0.1*sigma2) * n[c] / times[c])
		if b.parts.films {
			r[classPart+c] *= 0.7
		}
	}
	return b.activeRoots(r)
}

// search returns the active roots of variances.
func (b *blocks) search(nat []float64) []float64 {
	r := make([]float64, len(nat))
	for _, part := range []int{hipPart, patientPart} {
		r[part] = math.Sqrt(max(nat[part], 0))
		if r[part] > 0 {
			r[part+1] = nat[part+1] / r[part]
		}
		r[part+2] = math.Sqrt(max(nat[part+2]-r[part+1]*r[part+1], 0))
	}
	for j := filmPart; j < len(r); j++ {
		r[j] = math.Sqrt(max(nat[j], 0))
	}
	return b.activeRoots(r)
}
