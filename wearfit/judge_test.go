package wearfit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The least rate that is told with 80 % power is told by the fit itself in 80 % of hips.
func TestMinimumRateIsTold(t *testing.T) {
	for _, times := range [][]float64{{1, 5}, {1, 2, 5}, {1, 2, 5, 10}, {1, 2, 3, 5, 7, 10}} {
		p := Plan{Times: times, SD: 0.05, Level: 0.95}
		rate, err := MinimumRate(times, p.SD, p.Level, 0.8)
		require.NoError(t, err)
		j, err := p.JudgeHip(rate, 4000, 1)
		require.NoError(t, err)
		assert.InDelta(t, 0.8, j.Power, 0.02, "%d films", len(times))
	}
}
