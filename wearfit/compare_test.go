package wearfit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// R 4.2.2 AIC of the line through all films, turned into AICc by hand: k = 3,
// n = 15.
func TestCompare(t *testing.T) {
	d := columns(t, seriesFile,
		func(m map[string]string) bool { return m["series"] == "A" }, "t", "y")
	r, err := Compare(d[0], d[1], nil, 1)
	require.NoError(t, err)
	require.Len(t, r, 5)
	var sum float64
	for i, m := range r {
		require.NoError(t, m.Err)
		sum += m.Weight
		if i > 0 {
			assert.GreaterOrEqual(t, m.AICc, r[i-1].AICc)
		}
		if m.Model == "line" {
			assert.InDelta(t, -67.9702973445544+2*3*4/11.0, m.AICc, 1e-8)
		}
	}
	assert.InDelta(t, 1, sum, 1e-12)
	assert.Zero(t, r[0].Delta)

	// Four films: the models with too many parameters say so and come last.
	few, err := Compare([]float64{0.2, 1, 3, 6}, []float64{0.1, 0.2, 0.41, 0.69}, nil, 1)
	require.NoError(t, err)
	assert.Equal(t, "line through the origin", few[0].Model)
	require.Error(t, few[4].Err)
}

func TestCompareWeighted(t *testing.T) {
	// R 4.2.2 AIC of the weighted line from 1 year of series A.
	d := columns(t, seriesFile,
		func(m map[string]string) bool { return m["series"] == "A" && m["t"] >= "1" }, "t", "y", "sd")
	r, err := Compare(d[0], d[1], inverseSquares(d[2]), 3)
	require.NoError(t, err)
	for _, m := range r {
		if m.Model == "line" {
			assert.InDelta(t, -45.9172726729241+2*3*4/7.0, m.AICc, 1e-8)
		}
	}
}
