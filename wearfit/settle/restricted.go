package settle

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/wearfit/internal/seek"
)

// split is the likelihood with the fixed effects, the middle time constant among
// them where the films tell it, apart from what varies. The search coordinates
// are those of inside, but for mu, which is itself.
type split struct {
	*model
	b, psi []int
	evals  int
}

func (s *split) point(x []float64) []float64 {
	th := append([]float64(nil), x...)
	j := s.fixed() + omega
	th[j], _ = bounded(x[j], -mostOmega, mostOmega)
	return th
}

func (s *split) grad(x []float64) (float64, []float64) {
	s.evals++
	v, g := s.value(s.point(x))
	j := s.fixed() + omega
	_, slope := bounded(x[j], -mostOmega, mostOmega)
	g[j] *= slope
	return v, g
}

// bent is second derivatives of minus the likelihood at a point, b and psi apart.
type bent struct {
	bb   *mat.SymDense
	bp   *mat.Dense // fixed x varying
	pp   *mat.SymDense
	chol mat.Cholesky // of bb
}

// curve returns second derivatives of minus the likelihood over some parameters.
func (s *split) curve(x []float64, over []int) *mat.SymDense {
	at := make([]float64, len(over))
	for i, j := range over {
		at[i] = x[j]
	}
	return seek.Hessian(at, func(v []float64) (float64, []float64) {
		y := append([]float64(nil), x...)
		for i, j := range over {
			y[j] = v[i]
		}
		value, g := s.grad(y)
		out := make([]float64, len(over))
		for i, j := range over {
			out[i] = -g[j]
		}
		return -value, out
	})
}

// second returns them over all that is sought, and whether b has an optimum there.
func (s *split) second(x []float64) (bent, bool) {
	over := append(append([]int(nil), s.b...), s.psi...)
	nb, n := len(s.b), len(over)
	h := s.curve(x, over)
	d := bent{bb: mat.NewSymDense(nb, nil), bp: mat.NewDense(nb, n-nb, nil), pp: mat.NewSymDense(n-nb, nil)}
	for i := range n {
		for j := range n {
			switch v := h.At(i, j); {
			case i < nb && j < nb:
				d.bb.SetSym(i, j, v)
			case i < nb:
				d.bp.Set(i, j-nb, v)
			case j >= nb:
				d.pp.SetSym(i-nb, j-nb, v)
			}
		}
	}
	return d, d.chol.Factorize(d.bb)
}

// settle takes b to its optimum, psi held, by Newton steps.
func (s *split) settle(x []float64, d *bent) (v float64, g []float64) {
	v, g = s.grad(x)
	for range 20 {
		gb := make([]float64, len(s.b))
		for i, j := range s.b {
			gb[i] = g[j]
		}
		var step mat.VecDense
		if d.chol.SolveVecTo(&step, mat.NewVecDense(len(gb), gb)) != nil {
			return v, g
		}
		promise := mat.Dot(&step, mat.NewVecDense(len(gb), gb)) / 2
		if promise < 1e-10 {
			return v, g
		}
		y := append([]float64(nil), x...)
		for i, j := range s.b {
			y[j] += step.AtVec(i)
		}
		w, h := s.grad(y)
		if !(w > v) {
			return v, g
		}
		copy(x, y)
		v, g = w, h
	}
	return v, g
}

// slope returns the gradient over psi of the likelihood with b integrated out
// over a flat prior. By Fisher's identity it is the mean gradient over the
// distribution of b given the films: at 2 n points that share its mean and
// covariance, and with the shift of its mean that the same points tell, which is
// Laplace's approximation to second order (Tierney L, Kadane JB. J Am Stat Assoc
// 1986;81:82-86).
func (s *split) slope(x []float64, d *bent) []float64 {
	gb, gp := mat.NewVecDense(len(s.b), nil), make([]float64, len(s.psi))
	for _, y := range s.around(x, d) {
		_, g := s.grad(y)
		for i, j := range s.b {
			gb.SetVec(i, gb.AtVec(i)+g[j]/float64(2*len(s.b)))
		}
		for i, j := range s.psi {
			gp[i] += g[j] / float64(2*len(s.b))
		}
	}
	var shift mat.VecDense
	if d.chol.SolveVecTo(&shift, gb) != nil {
		return gp
	}
	for i := range gp {
		for k := range s.b {
			gp[i] -= d.bp.At(k, i) * shift.AtVec(k)
		}
	}
	return gp
}

// around returns the 2 n points; none where b has no distribution.
func (s *split) around(x []float64, d *bent) [][]float64 {
	n := len(s.b)
	var inv mat.SymDense
	var half mat.Cholesky
	if d.chol.InverseTo(&inv) != nil || !half.Factorize(&inv) {
		return nil
	}
	var l mat.TriDense
	half.LTo(&l)
	var out [][]float64
	for k := range n {
		for _, sign := range []float64{-1, 1} {
			y := append([]float64(nil), x...)
			for i, j := range s.b {
				y[j] += sign * math.Sqrt(float64(n)) * l.At(i, k)
			}
			out = append(out, y)
		}
	}
	return out
}

// profile returns second derivatives over psi of minus the likelihood, b at its
// optimum for each.
func (d *bent) profile() *mat.SymDense {
	var x mat.Dense
	out := mat.NewSymDense(d.pp.SymmetricDim(), nil)
	out.CopySym(d.pp)
	if d.chol.SolveTo(&x, d.bp) != nil {
		return out
	}
	for i := range out.SymmetricDim() {
		for j := i; j < out.SymmetricDim(); j++ {
			out.SetSym(i, j, out.At(i, j)-mat.Dot(d.bp.ColView(i), x.ColView(j)))
		}
	}
	return out
}

// widen adds to the covariance of b what the uncertainty of psi brings to it: in a
// model that is not linear the two are not independent. Directions of psi in which
// the likelihood does not fall are left out.
func (d *bent) widen(cov *mat.SymDense) {
	var x, v, along mat.Dense
	var e mat.EigenSym
	if d.pp.SymmetricDim() == 0 || d.chol.SolveTo(&x, d.bp) != nil || !e.Factorize(d.profile(), true) {
		return
	}
	e.VectorsTo(&v)
	along.Mul(&x, &v)
	for k, l := range e.Values(nil) {
		if l > 1e-2 {
			cov.SymRankOne(cov, 1/l, along.ColView(k))
		}
	}
}

// laplace takes b to its optimum at x, by the second derivatives of a place near
// it where there is one, and returns the restricted likelihood, logarithm, up to a
// constant; -Inf where b has no optimum there.
func (s *split) laplace(x []float64, near *bent) (d bent, v float64) {
	if near.bb != nil {
		s.settle(x, near)
	}
	d, ok := s.second(x)
	if !ok {
		return d, math.Inf(-1)
	}
	v, _ = s.grad(x)
	return d, v - d.chol.LogDet()/2
}

// restrict takes the most likely parameters to those of the restricted
// likelihood, in place, and says whether it came to rest.
func (s *split) restrict(x []float64) (best bent, ok bool) {
	const tol, farthest = 1e-4, 0.5
	high, scale := math.Inf(-1), 1.0
	var step []float64
	try := append([]float64(nil), x...)
	for range 60 {
		d, v := s.laplace(try, &best)
		if v < high-tol || math.IsInf(v, -1) {
			if step == nil || scale < 1e-3 {
				return best, false
			}
			scale /= 3
		} else {
			high, best = v, d
			copy(x, try)
			g := s.slope(x, &d)
			for i := range g {
				g[i] = -g[i]
			}
			var promise float64
			if step, promise = seek.Newton(d.profile(), g); promise < tol {
				return best, true
			}
			scale = min(1, 2*scale, farthest/math.Sqrt(dot(step, step)))
		}
		copy(try, x)
		for i, j := range s.psi {
			try[j] -= scale * step[i]
		}
	}
	return best, false
}

func dot(a, b []float64) float64 {
	var s float64
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

// chi is the quantile of the chi-squared distribution with one degree of freedom.
func chi(level float64) float64 {
	z := distuv.UnitNormal.Quantile((1 + level) / 2)
	return z * z
}
