package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// spot is the likelihood at values of the variances, in units of the blocks.
type spot struct {
	nat  []float64 // the variances, by number
	dev  float64
	grad []float64 // by variance, by number
	beta []float64
	chol mat.Cholesky    // of X'V⁻¹X
	dXX  []*mat.SymDense // by variance, nil where it is not sought
}

// total is what one pass over patients adds up, as tally does over hips.
type total struct {
	logV float64
	g    []float64
	tr   []float64
	h    [][]float64
	ok   bool

	v, u, a, c []float64 // scratch: V⁻¹, V⁻¹[X y], two rows of sums
}

func (b *blocks) newTotal() *total {
	k := b.p + 1
	t := &total{g: make([]float64, k*k), tr: make([]float64, b.parts.all()), h: make([][]float64, b.parts.all()), ok: true,
		a: make([]float64, k), c: make([]float64, k)}
	for _, j := range b.parts.active() {
		t.h[j] = make([]float64, k*k)
	}
	return t
}

// eval returns the deviance and its gradient.
func (b *blocks) eval(nat []float64, ml bool) *spot {
	sums := inParts(len(b.first)-1, func(lo, hi int) *total {
		t := b.newTotal()
		for p := lo; p < hi && t.ok; p++ {
			b.add(t, p, nat)
		}
		return t
	})
	sum := sums[0]
	for _, t := range sums[1:] {
		sum.logV += t.logV
		sum.ok = sum.ok && t.ok
		addTo(sum.g, t.g)
		addTo(sum.tr, t.tr)
		for j := range sum.h {
			addTo(sum.h[j], t.h[j])
		}
	}
	return b.solveAt(nat, sum, ml)
}

// add takes the films of patient p.
func (b *blocks) add(t *total, p int, nat []float64) {
	k := b.p + 1
	lo, hi := b.hipAt[b.first[p]], b.hipAt[b.first[p+1]]
	n := hi - lo
	if cap(t.v) < n*n {
		t.v, t.u = make([]float64, n*n), make([]float64, n*k)
	}
	v, u := t.v[:n*n], t.u[:n*k]
	b.cover(v, p, nat)
	logDet, ok := invert(v, n)
	if !ok {
		t.ok = false
		return
	}
	t.logV += logDet
	w := b.w[lo*k : hi*k]
	for i := range n {
		row := u[i*k : i*k+k]
		clear(row)
		for j, f := range v[i*n : i*n+n] {
			floats.AddScaled(row, f, w[j*k:j*k+k])
		}
		for a, x := range w[i*k : i*k+k] {
			if x != 0 {
				floats.AddScaled(t.g[a*k+a:a*k+k], x, row[a:])
			}
		}
	}
	if b.parts.patients {
		b.addLine(t, patientPart, b.parts.patient, v, u, lo, lo, hi)
	}
	for h := b.first[p]; h < b.first[p+1]; h++ {
		b.addLine(t, hipPart, b.parts.hip, v, u, lo, b.hipAt[h], b.hipAt[h+1])
		if b.parts.films {
			for f := b.filmOf[h]; f < b.filmOf[h+1]; f++ {
				b.addLine(t, filmPart, InterceptOnly, v, u, lo, b.filmAt[f], b.filmAt[f+1])
			}
		}
	}
	for i := range n {
		c := classPart + b.class[lo+i]
		f := b.times[lo+i]
		t.tr[c] += f * v[i*n+i]
		outer(t.h[c], u[i*k:i*k+k], u[i*k:i*k+k], f)
	}
}

// addLine takes the effects that rows from up to to share, of a patient whose rows
// begin at lo: with Z the columns 1 and time, tr(Z'V⁻¹Z) and U'U of each pair.
func (b *blocks) addLine(t *total, part int, r Random, v, u []float64, lo, from, to int) {
	k := b.p + 1
	n := len(u) / k
	clear(t.a)
	clear(t.c)
	var z00, z01, z11 float64
	for i := from; i < to; i++ {
		x := b.time[i]
		row := v[(i-lo)*n : (i-lo)*n+n]
		for j := from; j < to; j++ {
			f := row[j-lo]
			z00 += f
			z01 += f * x
			z11 += f * x * b.time[j]
		}
		floats.Add(t.a, u[(i-lo)*k:(i-lo)*k+k])
		floats.AddScaled(t.c, x, u[(i-lo)*k:(i-lo)*k+k])
	}
	t.tr[part] += z00
	outer(t.h[part], t.a, t.a, 1)
	if r == InterceptOnly {
		return
	}
	t.tr[part+2] += z11
	outer(t.h[part+2], t.c, t.c, 1)
	if r == InterceptAndSlope {
		t.tr[part+1] += 2 * z01
		outer(t.h[part+1], t.a, t.c, 1)
		outer(t.h[part+1], t.c, t.a, 1)
	}
}

// outer adds f times a b' to the upper triangle of h.
func outer(h, a, b []float64, f float64) {
	k := len(a)
	for i, x := range a {
		row := h[i*k : i*k+k]
		for j := i; j < k; j++ {
			row[j] += f * x * b[j]
		}
	}
}

// solveAt profiles out the coefficients and sets the gradient.
func (b *blocks) solveAt(nat []float64, t *total, ml bool) *spot {
	p, k := b.p, b.p+1
	s := &spot{nat: nat, dev: math.Inf(1), grad: make([]float64, len(nat)), beta: make([]float64, p), dXX: make([]*mat.SymDense, len(nat))}
	xx := mat.NewSymDense(p, nil)
	xy := make([]float64, p)
	for i := range p {
		xy[i] = t.g[i*k+p]
		for j := i; j < p; j++ {
			xx.SetSym(i, j, t.g[i*k+j])
		}
	}
	if !t.ok || !s.chol.Factorize(xx) {
		return s
	}
	copy(s.beta, solve(&s.chol, xy))
	rss := t.g[p*k+p] - floats.Dot(s.beta, xy)
	s.dev = t.logV + rss + float64(b.n)*math.Log(2*math.Pi)
	if !ml {
		s.dev += s.chol.LogDet() - float64(p)*math.Log(2*math.Pi)
	}
	var inv mat.SymDense
	if s.chol.InverseTo(&inv) != nil {
		s.dev = math.Inf(1)
		return s
	}
	for _, j := range b.parts.active() {
		dLog, dRSS, dXX := byVariance(t.tr[j], t.h[j], s.beta, &inv, ml)
		s.grad[j], s.dXX[j] = dLog+dRSS, dXX
	}
	return s
}

func solve(c *mat.Cholesky, b []float64) []float64 {
	var x mat.VecDense
	if c.SolveVecTo(&x, mat.NewVecDense(len(b), b)) != nil {
		return make([]float64, len(b))
	}
	return x.RawVector().Data
}
