// Package descent finds the least of a smooth function from its gradient.
package descent

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit/internal/seek"
)

// positive returns h with the signs of its eigenvalues made positive.
func positive(h *mat.SymDense) *mat.SymDense {
	var e mat.EigenSym
	if !e.Factorize(h, true) {
		return h
	}
	var v, d mat.Dense
	e.VectorsTo(&v)
	values := e.Values(nil)
	n := len(values)
	d.Apply(func(_, j int, x float64) float64 { return x * math.Abs(values[j]) }, &v)
	var full mat.Dense
	full.Mul(&d, v.T())
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, full.At(i, j))
		}
	}
	return out
}

// Minimum is where a search ended.
type Minimum struct {
	X         []float64
	Value     float64
	Evals     int
	Converged bool // the last step promised nothing
	// Second are the second derivatives at X, by differences, where it converged.
	Second *mat.SymDense
}

// Minimise takes quasi-Newton steps from x, the first along second derivatives by
// differences, which are taken anew where the steps lead no further, until the
// decrease they promise is below tol.
func Minimise(f func(x []float64) (float64, []float64), x []float64, tol float64) Minimum {
	m := Minimum{X: append([]float64(nil), x...)}
	eval := func(x []float64) (float64, []float64) {
		m.Evals++
		return f(x)
	}
	var g []float64
	m.Value, g = eval(m.X)
	second := func() *mat.SymDense {
		m.Second = seek.Hessian(m.X, eval)
		return positive(m.Second)
	}
	h := second()
	fresh := true
	for range 300 {
		step, promise := seek.Newton(h, g)
		if promise < tol {
			if fresh {
				m.Converged = true
				return m
			}
			h, fresh = second(), true
			continue
		}
		y, v, next, moved := along(eval, m.X, step, m.Value, promise)
		if !moved && fresh {
			m.Converged = promise < 1e3*tol
			return m
		}
		if !moved {
			h, fresh = second(), true
			continue
		}
		seek.Update(h, m.X, y, g, damped(h, m.X, y, g, next))
		m.X, m.Value, g, fresh = y, v, next, false
	}
	return m
}

// damped returns the gradient at y, drawn towards the one that h expects as far as
// the step would otherwise not keep h positive (Powell MJD. In: Watson GA, ed.
// Numerical Analysis. Springer 1978:144-157).
func damped(h *mat.SymDense, x, y, g, next []float64) []float64 {
	n := len(x)
	hs := make([]float64, n)
	var sd, shs float64
	for i := range n {
		for j := range n {
			hs[i] += h.At(i, j) * (y[j] - x[j])
		}
		sd += (y[i] - x[i]) * (next[i] - g[i])
		shs += (y[i] - x[i]) * hs[i]
	}
	if sd >= 0.2*shs {
		return next
	}
	out, c := make([]float64, n), 0.8*shs/(shs-sd)
	for i := range n {
		out[i] = g[i] + c*(next[i]-g[i]) + (1-c)*hs[i]
	}
	return out
}

// along goes from x against step, shortened until the function falls by a
// thousandth of what the step promises.
func along(eval func([]float64) (float64, []float64), x, step []float64, value, promise float64) (y []float64, v float64, g []float64, moved bool) {
	for scale := 1.0; scale > 1e-6; scale /= 3 {
		y = make([]float64, len(x))
		for i := range y {
			y[i] = x[i] - scale*step[i]
		}
		if v, g = eval(y); v <= value-1e-3*scale*promise {
			return y, v, g, true
		}
	}
	return x, value, nil, false
}
