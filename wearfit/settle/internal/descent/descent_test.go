package descent

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A curved valley (Rosenbrock HH. Comput J 1960;3:175-184), whose least is 0 at (1, 1),
// and a saddle, from which the way down is found.
func TestMinimise(t *testing.T) {
	valley := func(x []float64) (float64, []float64) {
		a, b := 1-x[0], x[1]-x[0]*x[0]
		return a*a + 100*b*b, []float64{-2*a - 400*x[0]*b, 200 * b}
	}
	m := Minimise(valley, []float64{-1.2, 1}, 1e-12)
	assert.True(t, m.Converged)
	assert.InDeltaSlice(t, []float64{1, 1}, m.X, 1e-5)
	assert.InDelta(t, 802, m.Second.At(0, 0), 0.1)
	assert.InDelta(t, -400, m.Second.At(0, 1), 0.1)

	saddle := func(x []float64) (float64, []float64) {
		v := x[0]*x[0]*x[0]*x[0]/4 - x[0]*x[0]/2 + x[1]*x[1]
		return v, []float64{x[0]*x[0]*x[0] - x[0], 2 * x[1]}
	}
	m = Minimise(saddle, []float64{0.01, 2}, 1e-10)
	assert.True(t, m.Converged)
	assert.InDeltaSlice(t, []float64{1, 0}, m.X, 1e-4)

	cliff := func([]float64) (float64, []float64) { return math.Inf(1), []float64{0} }
	assert.True(t, math.IsInf(Minimise(cliff, []float64{0}, 1e-6).Value, 1))
}
