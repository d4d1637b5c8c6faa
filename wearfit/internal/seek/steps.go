package seek

import "gonum.org/v1/gonum/mat"

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
