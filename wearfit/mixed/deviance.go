package mixed

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// factor is the relative Cholesky factor of a hip's random effects (00, 10,
// 11) and the relative standard deviation of a patient's.
type factor [4]float64

// singular says that an effect that is sought has no variance of its own.
func (f factor) singular(free []int) bool {
	const least = 1e-4 // of the residual standard deviation
	for _, j := range free {
		if j != 1 && math.Abs(f[j]) < least {
			return true
		}
	}
	return false
}

// upright is the factor with the signs that are written.
func (f factor) upright() factor {
	if f[0] < 0 {
		f[0], f[1] = -f[0], -f[1]
	}
	f[2], f[3] = math.Abs(f[2]), math.Abs(f[3])
	return f
}

// active are those of the four parameters that are sought.
func (s *sums) active(v [4]float64) []float64 {
	x := make([]float64, len(s.free))
	for i, j := range s.free {
		x[i] = v[j]
	}
	return x
}

// factor is the factor of which x is the active part.
func (s *sums) factor(x []float64) (f factor) {
	for i, j := range s.free {
		f[j] = x[i]
	}
	return f
}

// point is the likelihood at a factor.
type point struct {
	th     factor
	dev    float64
	grad   [4]float64
	beta   []float64
	sigma2 float64
	rss    float64
	chol   mat.Cholesky // of X'V⁻¹X
	dLog   [4]float64   // derivatives: of log|V| and, with REML, log|X'V⁻¹X|
	dRSS   [4]float64
	dXX    [4]*mat.SymDense
}

// tally is what one pass over hips adds up. With V the relative covariance of
// a patient's films, logV is Σ log|V|, g is [X y]'V⁻¹[X y], and for each
// variance of the random effects tr and h are Σ Z'V⁻¹Z and Σ U'U with
// U = Z'V⁻¹[X y].
type tally struct {
	logV float64
	g    []float64
	tr   [4]float64   // 00, 01 (twice), 11, patient
	h    [4][]float64 // upper triangles
	u    []float64    // scratch: U of the hips of one patient
	zvz  [][3]float64 // scratch: Z'V⁻¹Z of those
	gp   []float64    // scratch: 1'V⁻¹[X y] of the patient
}

func newTally(k int) *tally {
	t := &tally{g: make([]float64, k*k), gp: make([]float64, k)}
	for j := range t.h {
		t.h[j] = make([]float64, k*k)
	}
	return t
}

// inParts sums patients in parts, on all processors where they are many. The parts
// depend on the number of patients alone, so that the result is that of any machine.
func inParts[T any](patients int, sum func(lo, hi int) T) []T {
	const chunks = 8
	if patients < 1000 {
		return []T{sum(0, patients)}
	}
	parts := make([]T, chunks)
	var wg sync.WaitGroup
	for c := range parts {
		wg.Go(func() { parts[c] = sum(patients*c/chunks, patients*(c+1)/chunks) })
	}
	wg.Wait()
	return parts
}

// eval returns the deviance and its gradient.
func (s *sums) eval(th factor, ml bool) point {
	k := s.p + 1
	parts := inParts(len(s.first)-1, func(lo, hi int) *tally {
		t := newTally(k)
		for i := lo; i < hi; i++ {
			s.add(t, th, s.first[i], s.first[i+1])
		}
		return t
	})
	sum := newTally(k)
	copy(sum.g, s.ww)
	for _, p := range parts {
		sum.logV += p.logV
		for j := range sum.tr {
			sum.tr[j] += p.tr[j]
			addTo(sum.h[j], p.h[j])
		}
		addTo(sum.g, p.g)
	}
	return s.solveAt(th, sum, ml)
}

func addTo(a, b []float64) {
	for i := range a {
		a[i] += b[i]
	}
}

// add takes the hips from lo up to hi, which are one patient's.
func (s *sums) add(t *tally, th factor, lo, hi int) {
	k := s.p + 1
	n := hi - lo
	if cap(t.u) < 2*k*n {
		t.u, t.zvz = make([]float64, 2*k*n), make([][3]float64, n)
	}
	det := 1.0
	for h := lo; h < hi; h++ {
		z := s.zz[3*h : 3*h+3 : 3*h+3]
		w0, w1 := s.zw[2*k*h:2*k*h+k:2*k*h+k], s.zw[2*k*h+k:2*k*h+2*k:2*k*h+2*k]
		d, k00, k01, k11 := th.kernel(z)
		det *= d
		// I - Z'Z K
		p00, p01 := 1-z[0]*k00-z[1]*k01, -z[0]*k01-z[1]*k11
		p10, p11 := -z[1]*k00-z[2]*k01, 1-z[1]*k01-z[2]*k11
		t.zvz[h-lo] = [3]float64{p00*z[0] + p01*z[1], p00*z[1] + p01*z[2], p10*z[1] + p11*z[2]}
		u0, u1 := t.u[2*k*(h-lo):2*k*(h-lo)+k], t.u[2*k*(h-lo)+k:2*k*(h-lo)+2*k]
		for i := range k {
			a, b := w0[i], w1[i]
			u0[i], u1[i] = p00*a+p01*b, p10*a+p11*b
			c, e := k00*a+k01*b, k01*a+k11*b
			row := t.g[i*k : i*k+k]
			for j := i; j < k; j++ {
				row[j] -= c*w0[j] + e*w1[j]
			}
		}
	}
	t.logV += math.Log(det)
	if th[3] != 0 || contains(s.free, 3) {
		s.patient(t, th[3]*th[3], n)
	}
	for h := range n {
		z := t.zvz[h]
		t.tr[0] += z[0]
		t.tr[1] += 2 * z[1]
		t.tr[2] += z[2]
		t.squares(t.u[2*k*h:2*k*h+k], t.u[2*k*h+k:2*k*h+2*k])
	}
}

// squares adds the products of U's rows to h.
func (t *tally) squares(u0, u1 []float64) {
	k := len(u0)
	u1 = u1[:k]
	for i := range k {
		a, b := u0[i], u1[i]
		h0, h1, h2 := t.h[0][i*k:i*k+k], t.h[1][i*k:i*k+k], t.h[2][i*k:i*k+k]
		for j := i; j < k; j++ {
			c, d := u0[j], u1[j]
			h0[j] += a * c
			h1[j] += a*d + b*c
			h2[j] += b * d
		}
	}
}

// kernel returns |I + L'Z'Z L| and K = L (I + L'Z'Z L)⁻¹ L' of a hip.
func (f factor) kernel(z []float64) (det, k00, k01, k11 float64) {
	b00, b01 := z[0]*f[0]+z[1]*f[1], z[1]*f[2]
	b10, b11 := z[1]*f[0]+z[2]*f[1], z[2]*f[2]
	m00, m01, m11 := 1+f[0]*b00+f[1]*b10, f[0]*b01+f[1]*b11, 1+f[2]*b11
	det = m00*m11 - m01*m01
	i00, i01, i11 := m11/det, -m01/det, m00/det
	// L M⁻¹ L'
	a0, a1 := f[0]*i00, f[0]*i01
	c0, c1 := f[1]*i00+f[2]*i01, f[1]*i01+f[2]*i11
	return det, a0 * f[0], a0*f[1] + a1*f[2], c0*f[1] + c1*f[2]
}

// patient adds the intercept that the hips of one patient share: V grows by
// tau2 11', a change of rank one.
func (s *sums) patient(t *tally, tau2 float64, n int) {
	k := s.p + 1
	var sum float64
	clear(t.gp)
	for h := range n {
		sum += t.zvz[h][0]
		addTo(t.gp, t.u[2*k*h:2*k*h+k])
	}
	d := 1 + tau2*sum
	t.logV += math.Log(d)
	t.tr[3] += sum / d
	c := tau2 / d
	for i := range k {
		for j := i; j < k; j++ {
			v := t.gp[i] * t.gp[j]
			t.g[i*k+j] -= c * v
			t.h[3][i*k+j] += v / (d * d)
		}
	}
	for h := range n {
		z := t.zvz[h]
		u0, u1 := t.u[2*k*h:2*k*h+k], t.u[2*k*h+k:2*k*h+2*k]
		for j, v := range t.gp {
			u0[j] -= c * z[0] * v
			u1[j] -= c * z[1] * v
		}
		t.zvz[h] = [3]float64{z[0] - c*z[0]*z[0], z[1] - c*z[0]*z[1], z[2] - c*z[1]*z[1]}
	}
}

func contains(v []int, x int) bool {
	for _, a := range v {
		if a == x {
			return true
		}
	}
	return false
}

// solveAt profiles out the coefficients and the residual variance.
func (s *sums) solveAt(th factor, t *tally, ml bool) point {
	p, k := s.p, s.p+1
	at := point{th: th, beta: make([]float64, p), dev: math.Inf(1)}
	xx := mat.NewSymDense(p, nil)
	xy := make([]float64, p)
	for i := range p {
		xy[i] = t.g[i*k+p]
		for j := i; j < p; j++ {
			xx.SetSym(i, j, t.g[i*k+j])
		}
	}
	if !at.chol.Factorize(xx) {
		return at
	}
	at.beta = solve(&at.chol, xy)
	at.rss = t.g[p*k+p] - floats.Dot(at.beta, xy)
	nu := float64(s.n)
	logs := t.logV
	if !ml {
		nu -= float64(p)
		logs += at.chol.LogDet()
	}
	if !(at.rss > 0) {
		return at
	}
	at.sigma2 = at.rss / nu
	at.dev = logs + nu*(1+math.Log(2*math.Pi*at.sigma2))
	at.derive(t, ml)
	return at
}

// derive sets the gradient, by the chain rule from the variances to the
// factor.
func (p *point) derive(t *tally, ml bool) {
	var inv mat.SymDense
	if p.chol.InverseTo(&inv) != nil {
		return
	}
	n := len(p.beta)
	var dLog, dRSS [4]float64
	var dXX [4]*mat.SymDense
	for a, h := range t.h {
		dLog[a], dRSS[a], dXX[a] = byVariance(t.tr[a], h, p.beta, &inv, ml)
	}
	f := p.th
	for j, chain := range [4][4]float64{
		{2 * f[0], f[1], 0, 0},
		{0, f[0], 2 * f[1], 0},
		{0, 0, 2 * f[2], 0},
		{0, 0, 0, 2 * f[3]},
	} {
		p.dXX[j] = mat.NewSymDense(n, nil)
		for a, v := range chain {
			p.dLog[j] += v * dLog[a]
			p.dRSS[j] += v * dRSS[a]
			addScaled(p.dXX[j], v, dXX[a])
		}
		p.grad[j] = p.dLog[j] + p.dRSS[j]/p.sigma2
	}
}
