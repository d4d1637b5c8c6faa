package settle

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The gradient of the density is that of its value, by differences.
func TestBeliefGradient(t *testing.T) {
	m := modelOf(t, unequal(usual.drawn(7, sixFilms, 1)))
	b := &belief{model: m, shape: newShape(m)}
	y := []float64{0.7, 1.9, 0.3, 0.2, -1.1, 0.4, -0.8, -0.5, -1.5}
	_, g := b.log(y)
	for j := range y {
		const h = 1e-5
		up, down := append([]float64(nil), y...), append([]float64(nil), y...)
		up[j] += h
		down[j] -= h
		a, _ := b.log(up)
		c, _ := b.log(down)
		assert.InDelta(t, (a-c)/(2*h), g[j], 1e-5*(1+math.Abs(g[j])), "coordinate %d", j)
		th, volume := b.parameters(up)
		require.InDelta(t, a, b.plain(th)+volume, 1e-9)
	}
}
