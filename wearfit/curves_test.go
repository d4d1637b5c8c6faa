package wearfit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is kept is what is fitted: by films and by weights, a refusal too.
func TestCurvesKeep(t *testing.T) {
	d := series(t, "B")
	w := make([]float64, len(d[0]))
	for i := range w {
		w[i] = float64(i + 1)
	}
	var c Curves
	for range 2 {
		for _, weights := range [][]float64{nil, w} {
			want, err := FitBedding(d[0], d[1], weights)
			require.NoError(t, err)
			got, err := c.FitBedding(d[0], d[1], weights)
			require.NoError(t, err)
			assert.Equal(t, []float64{want.Origin, want.Creep, want.Tau, want.Rate}, []float64{got.Origin, got.Creep, got.Tau, got.Rate})
			assert.Equal(t, want.CreepInterval(0.95), got.CreepInterval(0.95))
		}
		want, err := FitStick(d[0], d[1], w)
		require.NoError(t, err)
		got, err := c.FitStick(d[0], d[1], w)
		require.NoError(t, err)
		assert.Equal(t, want.RateInterval(0.95), got.RateInterval(0.95))
		_, err = c.FitStick(d[0][:3], d[1][:3], nil)
		var few *TooFewError
		require.ErrorAs(t, err, &few)
	}
	assert.Len(t, c.beddings, 2)
	assert.Len(t, c.sticks, 2)
}
