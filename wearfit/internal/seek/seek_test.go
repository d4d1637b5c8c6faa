package seek

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Rosenbrock's valley (Comput J 1960;3:175-184): least at (1, 1), where its second
// derivatives are 802, -400 and 200.
func TestMinimise(t *testing.T) {
	valley := func(x []float64) (float64, []float64) {
		a, b := 1-x[0], x[1]-x[0]*x[0]
		return a*a + 100*b*b, []float64{-2*a - 400*x[0]*b, 200 * b}
	}
	m := Minimise(valley, []float64{-1.2, 1}, nil, 1e-12)
	assert.True(t, m.Converged)
	assert.InDelta(t, 1, m.X[0], 1e-6)
	assert.InDelta(t, 1, m.X[1], 1e-6)
	assert.Less(t, m.Evals, 200)
	again := Minimise(valley, m.X, m.Second, 1e-12)
	assert.True(t, again.Converged)
	assert.Equal(t, 5, again.Evals, "one, and four for second derivatives of its own")
	h := Hessian([]float64{1, 1}, valley)
	for k, want := range [][3]float64{{0, 0, 802}, {0, 1, -400}, {1, 1, 200}} {
		assert.InDelta(t, want[2], h.At(int(want[0]), int(want[1])), 1e-3, k)
	}
	step, promise := Newton(h, []float64{802, -400})
	assert.InDelta(t, 1, step[0], 1e-5)
	assert.InDelta(t, 0, step[1], 1e-5)
	assert.InDelta(t, 401, promise, 1e-3)

	// A saddle, from which the way down is found.
	m = Minimise(func(x []float64) (float64, []float64) {
		v := x[0]*x[0]*x[0]*x[0]/4 - x[0]*x[0]/2 + x[1]*x[1]
		return v, []float64{x[0]*x[0]*x[0] - x[0], 2 * x[1]}
	}, []float64{0.01, 2}, nil, 1e-10)
	assert.True(t, m.Converged)
	assert.InDeltaSlice(t, []float64{1, 0}, m.X, 1e-4)

	// A function without a least value is not said to have one.
	m = Minimise(func(x []float64) (float64, []float64) { return -x[0], []float64{-1} }, []float64{1}, nil, 1e-10)
	assert.False(t, m.Converged)
	m = Minimise(func([]float64) (float64, []float64) { return math.Inf(1), []float64{0} }, []float64{0}, nil, 1e-6)
	assert.True(t, math.IsInf(m.Value, 1))
}
