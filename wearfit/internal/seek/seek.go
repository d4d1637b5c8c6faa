// Package seek finds the least value of a smooth function of a few parameters, by its
// gradient.
package seek

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Function is a function of x and its gradient.
type Function func(x []float64) (value float64, grad []float64)

// Minimise takes x to the least value of f, and returns how often f was asked and
// whether it got there: quasi-Newton steps (BFGS) on the gradient to near the optimum,
// then Newton steps with its differences as second derivatives. A function that does not
// change with the sign of a parameter, as of a standard deviation, needs no bound at 0:
// that is an ordinary smooth minimum.
func Minimise(x []float64, f Function) (evals int, ok bool) {
	var at, grad []float64
	var value float64
	once := func(x []float64) (float64, []float64) {
		if at == nil || !slices.Equal(at, x) {
			at = append(at[:0], x...)
			value, grad = f(x)
			evals++
		}
		return value, grad
	}
	approach(x, once)
	ok = polish(x, once)
	return evals, ok
}

// approach takes quasi-Newton steps from x until they promise less than 1e-6
// or lead no further.
func approach(x []float64, f Function) {
	v, g := f(x)
	h := Hessian(x, f)
	for range 60 {
		step, promise := Newton(h, g)
		if promise < 1e-6 {
			return
		}
		scale := 1.0
		y := make([]float64, len(x))
		var w float64
		var next []float64
		for ; scale > 1e-3; scale /= 3 {
			for i := range y {
				y[i] = x[i] - scale*step[i]
			}
			if w, next = f(y); w < v {
				break
			}
		}
		if scale <= 1e-3 {
			return
		}
		Update(h, x, y, g, next)
		copy(x, y)
		v, g = w, next
	}
}

// Update is that of Broyden, Fletcher, Goldfarb and Shanno, from x with the
// gradient g to y with the gradient next; it is left out where the gradient does
// not grow along the step.
func Update(h *mat.SymDense, x, y, g, next []float64) {
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

// polish takes Newton steps until the decrease they promise is below 1e-10,
// and says whether it got there.
func polish(x []float64, f Function) bool {
	for range 60 {
		v, g := f(x)
		step, promise := Newton(Hessian(x, f), g)
		if promise < 1e-10 {
			return true
		}
		moved := false
		for scale := 1.0; scale > 1e-6; scale /= 4 {
			y := make([]float64, len(x))
			for i := range y {
				y[i] = x[i] - scale*step[i]
			}
			if w, _ := f(y); w < v {
				copy(x, y)
				moved = true
				break
			}
		}
		if !moved {
			return promise < 1e-6
		}
		if promise < 1e-5 {
			return true // the step just taken squares the distance
		}
	}
	return false
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
