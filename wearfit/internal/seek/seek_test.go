package seek

import (
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
	x := []float64{-1.2, 1}
	evals, ok := Minimise(x, valley)
	assert.True(t, ok)
	assert.InDelta(t, 1, x[0], 1e-6)
	assert.InDelta(t, 1, x[1], 1e-6)
	assert.Less(t, evals, 200)
	h := Hessian([]float64{1, 1}, valley)
	for k, want := range [][3]float64{{0, 0, 802}, {0, 1, -400}, {1, 1, 200}} {
		assert.InDelta(t, want[2], h.At(int(want[0]), int(want[1])), 1e-3, k)
	}
	step, promise := Newton(h, []float64{802, -400})
	assert.InDelta(t, 1, step[0], 1e-5)
	assert.InDelta(t, 0, step[1], 1e-5)
	assert.InDelta(t, 401, promise, 1e-3)

	// A function without a least value is not said to have one.
	_, ok = Minimise([]float64{1}, func(x []float64) (float64, []float64) { return -x[0], []float64{-1} })
	assert.False(t, ok)
}
