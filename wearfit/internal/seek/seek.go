// Package seek finds the least value of a smooth function of a few parameters, by its
// gradient.
package seek

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Function is a function of x and its gradient.
type Function func(x []float64) (value float64, grad []float64)

// Minimum is where a search ended.
type Minimum struct {
	X         []float64
	Value     float64
	Evals     int
	Converged bool // the last step promised nothing
	// Second are the second derivatives at X, by differences, where it converged.
	Second *mat.SymDense
}

// Minimise takes quasi-Newton steps (BFGS) from x, the first along second derivatives,
// nil where they are not known, which are taken anew by differences where the steps lead
// no further, until the decrease they promise is below tol. A function that does not
// change with the sign of a parameter, as of a standard deviation, needs no bound at 0:
// that is an ordinary smooth minimum.
func Minimise(f Function, x []float64, second *mat.SymDense, tol float64) Minimum {
	m := Minimum{X: append([]float64(nil), x...)}
	eval := func(x []float64) (float64, []float64) {
		m.Evals++
		return f(x)
	}
	var g []float64
	m.Value, g = eval(m.X)
	anew := func() *mat.SymDense {
		m.Second = Hessian(m.X, eval)
		return positive(m.Second)
	}
	h, fresh := second, false
	if h == nil {
		h, fresh = anew(), true
	} else {
		h = positive(h)
	}
	for range 300 {
		step, promise := Newton(h, g)
		if promise < tol {
			if fresh {
				m.Converged = true
				return m
			}
			h, fresh = anew(), true
			continue
		}
		y, v, next, moved := along(eval, m.X, step, m.Value, promise)
		if !moved && fresh {
			m.Converged = promise < 1e3*tol
			return m
		}
		if !moved {
			h, fresh = anew(), true
			continue
		}
		update(h, m.X, y, g, damped(h, m.X, y, g, next))
		m.X, m.Value, g, fresh = y, v, next, false
	}
	return m
}

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

// update is that of Broyden, Fletcher, Goldfarb and Shanno, from x with the
// gradient g to y with the gradient next; it is left out where the gradient does
// not grow along the step.
func update(h *mat.SymDense, x, y, g, next []float64) {
	n := len(x)
	s, d, hs := make([]float64, n), make([]float64, n), make([]float64, n)
	var sd, shs float64
	for i := range n {
		s[i], d[i] = y[i]-x[i], next[i]-g[i]
		sd += s[i] * d[i]
	}
	for i := range n {
		for j := range n {
			hs[i] += h.At(i, j) * s[j]
		}
		shs += s[i] * hs[i]
	}
	if sd <= 0 || shs <= 0 {
		return
	}
	for i := range n {
		for j := i; j < n; j++ {
			h.SetSym(i, j, h.At(i, j)+d[i]*d[j]/sd-hs[i]*hs[j]/shs)
		}
	}
}

// Hessian differentiates the gradient by central differences.
func Hessian(x []float64, f Function) *mat.SymDense {
	n := len(x)
	rows := mat.NewDense(n, n, nil)
	for i := range x {
		h := 1e-4 * max(math.Abs(x[i]), 0.05)
		y := append([]float64(nil), x...)
		y[i] = x[i] + h
		_, up := f(y)
		y[i] = x[i] - h
		_, down := f(y)
		for j := range n {
			rows.Set(i, j, (up[j]-down[j])/(2*h))
		}
	}
	sym := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			sym.SetSym(i, j, (rows.At(i, j)+rows.At(j, i))/2)
		}
	}
	return sym
}

// Newton returns the step H⁻¹g with the signs of the eigenvalues made
// positive, and half of g'H⁻¹g.
func Newton(h *mat.SymDense, g []float64) (step []float64, promise float64) {
	n := len(g)
	step = make([]float64, n)
	var e mat.EigenSym
	if !e.Factorize(h, true) {
		return step, 0
	}
	values := e.Values(nil)
	var v mat.Dense
	e.VectorsTo(&v)
	most := 0.0
	for _, l := range values {
		most = max(most, math.Abs(l))
	}
	for k, l := range values {
		l = max(math.Abs(l), 1e-8*most)
		if l == 0 { // no curvature at all
			l = 1
		}
		var c float64
		for i := range n {
			c += v.At(i, k) * g[i]
		}
		promise += c * c / l / 2
		for i := range n {
			step[i] += v.At(i, k) * c / l
		}
	}
	return step, promise
}
