package settle

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit/internal/seek"
)

// The time constant is sought where that of one hip's own curve is: from a tenth
// of the earliest time, when all of the bedding-in is over on that film, to twice
// the last, from where on the curve cannot be told from a parabola.
const (
	tauBelow = 10
	tauAbove = 2
)

// mostOmega bounds the SD of the logarithm of the time constant: at 1, one hip in
// twenty has more than 7 times or less than a 7th of the middle one's.
const mostOmega = 1.0

// bounded takes any number to one between lo and hi, and gives the derivative. An
// end is an ordinary smooth optimum, at a finite number.
func bounded(x, lo, hi float64) (v, slope float64) {
	return lo + (hi-lo)*(1+math.Sin(x))/2, (hi - lo) * math.Cos(x) / 2
}

// unbounded is its inverse, but not at the very ends, where the slope is 0.
func unbounded(v, lo, hi float64) float64 {
	const most = 0.999
	return math.Asin(max(-most, min(most, 2*(v-lo)/(hi-lo)-1)))
}

// inside takes search coordinates to parameters: mu and omega are bounded there.
// The likelihood does not change with the sign of a column of the factor, of
// omega or of sigma, so that a variance of zero is an ordinary smooth optimum.
func (m *model) inside(x []float64) (th, slope []float64) {
	k := m.fixed()
	th, slope = append([]float64(nil), x...), make([]float64, len(x))
	for i := range slope {
		slope[i] = 1
	}
	th[k+mu], slope[k+mu] = bounded(x[k+mu], m.lo, m.hi)
	th[k+omega], slope[k+omega] = bounded(x[k+omega], -mostOmega, mostOmega)
	return th, slope
}

func (m *model) outside(th []float64) []float64 {
	k := m.fixed()
	x := append([]float64(nil), th...)
	x[k+mu] = unbounded(th[k+mu], m.lo, m.hi)
	x[k+omega] = unbounded(th[k+omega], -mostOmega, mostOmega)
	return x
}

// best maximises the likelihood over some of the parameters, the others held,
// until a step promises less than tol, from second derivatives where they are known.
func (m *model) best(th []float64, over []int, second *mat.SymDense, tol float64) (seek.Minimum, []float64) {
	full := m.outside(th)
	put := func(x []float64) []float64 {
		y := append([]float64(nil), full...)
		for i, j := range over {
			y[j] = x[i]
		}
		return y
	}
	begin := make([]float64, len(over))
	for i, j := range over {
		begin[i] = full[j]
	}
	found := seek.Minimise(func(x []float64) (float64, []float64) {
		th, slope := m.inside(put(x))
		v, g := m.value(th)
		out := make([]float64, len(over))
		for i, j := range over {
			out[i] = -g[j] * slope[j]
		}
		return -v, out
	}, begin, second, tol)
	at, _ := m.inside(put(found.X))
	for _, j := range []int{m.fixed() + mu, m.fixed() + omega} {
		if !slices.Contains(over, j) {
			at[j] = th[j] // to the last digit
		}
	}
	return found, at
}

// all lists the parameters that are sought.
func (m *model) all() []int {
	var out []int
	for j := range m.size() {
		if j != m.fixed()+l10 || !m.uncorrelated {
			out = append(out, j)
		}
	}
	return out
}

// start is parameters to begin from, and the second derivatives of minus the likelihood
// there where they are known.
type start struct {
	th     []float64
	second *mat.SymDense
}

// starts returns parameters to begin from: the best of a scale of time constants
// that all hips share, where bedding-in and rate do not vary, and for a small
// table, whose likelihood may have more than one peak, two others.
//
// Where there are very many hips, the best fit of some of them is one.
func (m *model) starts() []start {
	const steps, some = 12, 500
	if len(m.hips) > 3*some {
		part := m.every(len(m.hips) / some)
		if s := part.starts(); s != nil {
			top, th := part.best(s[0].th, part.all(), nil, bestTol)
			if top.Converged {
				top.Second.ScaleSym(float64(len(m.hips))/float64(len(part.hips)), top.Second)
				return []start{{th, top.Second}}
			}
			return []start{{th: th}}
		}
	}
	var out []start
	best, at := math.Inf(1), 0
	all := make([][]float64, steps+1)
	for i := range all {
		tau := m.lo + (m.hi-m.lo)*float64(i)/steps
		th, rss := m.pooled(tau)
		all[i] = th
		if th != nil && rss < best {
			best, at = rss, i
		}
	}
	for _, i := range []int{at, steps / 4, 5 * steps / 8} {
		if all[i] != nil && (i == at || len(m.hips) < 200) {
			out = append(out, start{th: all[i]})
		}
	}
	return out
}

// every returns the model of each n-th hip.
func (m *model) every(n int) *model {
	part, tb := *m, *m.table
	tb.hips, tb.films = nil, 0
	for i := 0; i < len(m.hips); i += n {
		tb.hips = append(tb.hips, m.hips[i])
		tb.films += len(m.hips[i].t)
	}
	tb.contrasts = tb.films - len(tb.hips)
	part.table = &tb
	return &part
}

// pooled fits all hips with one curve of a known time constant, by least squares;
// nil where the films do not tell its parts apart.
func (m *model) pooled(logTau float64) (th []float64, rss float64) {
	k := m.fixed()
	xx, xy, yy := m.equations(math.Exp(-logTau))
	var chol mat.Cholesky
	var coef mat.VecDense
	if !chol.Factorize(xx) || chol.SolveVecTo(&coef, xy) != nil {
		return nil, 0
	}
	rss = max(yy-mat.Dot(&coef, xy), 1e-12*yy)
	s := math.Sqrt(rss / float64(m.contrasts))
	th = append(append([]float64(nil), coef.RawVector().Data...), make([]float64, m.size()-k)...)
	for j, v := range map[int]float64{mu: logTau, l00: s / 2, l11: s / 2, omega: 0.3, sigma: s / 2} {
		th[k+j] = v
	}
	return th, rss
}

// equations returns the normal equations of that fit, every film of one weight.
func (m *model) equations(inv float64) (xx *mat.SymDense, xy *mat.VecDense, yy float64) {
	k := m.fixed()
	xx, xy = mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	var f sums
	for i := range m.hips {
		h := &m.hips[i]
		f.set(&hip{t: h.t, y: h.y}, 1)
		e := f.bend(inv)
		yy += f.yy
		row := append(append([]float64(nil), h.creep...), h.rate...)
		for a := range k {
			ia := min(a/m.creep.n, 1) // 0: bedding-in, 1: rate
			xy.SetVec(a, xy.AtVec(a)+row[a]*[2]float64{e.r0, e.r1}[ia])
			for b := a; b < k; b++ {
				xx.SetSym(a, b, xx.At(a, b)+row[a]*row[b]*e.a[ia+min(b/m.creep.n, 1)])
			}
		}
	}
	return xx, xy, yy
}
