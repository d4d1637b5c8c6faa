package mixed

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// R 4.2.2 t.test of the slopes of 300 simulated hips.
func TestTwoStage(t *testing.T) {
	var ref struct {
		Stage struct {
			First []float64  `json:"per_hip_slope_first5"`
			Mean  [2]float64 `json:"mean_slope"`
			SD    [2]float64 `json:"sd_slope"`
			N     [2]int
			Welch struct {
				T, DF, P, Difference float64
				CI                   [2]float64 `json:"ci95"`
			} `json:"welch_t"`
		} `json:"two_stage"`
	}
	reference(t, "cohort_300.json", &ref)
	d := mixedTable(t, "cohort_300.csv", "hip", "years", "penetration", "liner", "crosslinked")
	linked := map[string]bool{}
	for i, h := range d.Hip {
		linked[h] = d.Fixed[2][i] == 1
	}
	d.Hip, d.Time, d.Value = append(d.Hip, "lone"), append(d.Time, 3), append(d.Value, 1)
	s, err := CompareRates(d, func(h string) bool { return !linked[h] })
	require.NoError(t, err)
	assert.Equal(t, []string{"lone"}, s.Left)
	w := ref.Stage
	assert.Equal(t, w.N, s.Welch.N)
	for g := range 2 {
		near(t, w.Mean[g], s.Welch.Mean[g], 1e-10, "mean")
		near(t, w.SD[g], s.Welch.SD[g], 1e-10, "sd")
	}
	near(t, w.First[0], s.Rates[0][0], 1e-10, "first hip")
	near(t, w.Welch.T, s.Welch.T, 1e-10, "t")
	near(t, w.Welch.DF, s.Welch.Difference.DF, 1e-10, "df")
	near(t, w.Welch.P, s.Welch.P, 1e-8, "p")
	pair(t, w.Welch.CI, s.Welch.Difference.Interval(0.95), "difference")
	assert.Greater(t, s.Ranks.Share, 0.9)
	assert.False(t, s.Ranks.Exact)
}
