package mixed

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"linerwatch/wearfit"
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
	s, err := EachRate(d, 2, func(h string) int {
		if linked[h] {
			return 1
		}
		return 0
	})
	require.NoError(t, err)
	assert.Equal(t, []string{"lone"}, s.Left)
	w := ref.Stage
	got, err := wearfit.CompareMeans(s.Slopes[0], s.Slopes[1])
	require.NoError(t, err)
	assert.Equal(t, w.N, got.N)
	for g := range 2 {
		near(t, w.Mean[g], got.Mean[g], 1e-10, "mean")
		near(t, w.SD[g], got.SD[g], 1e-10, "sd")
	}
	near(t, w.First[0], s.Slopes[0][0], 1e-10, "first hip")
	near(t, w.Welch.T, got.T, 1e-10, "t")
	near(t, w.Welch.DF, got.Difference.DF, 1e-10, "df")
	near(t, w.Welch.P, got.P, 1e-8, "p")
	pair(t, w.Welch.CI, got.Difference.Interval(0.95), "difference")
}

// R 4.2.2: coef(lm(penetration ~ years, weights = 1 / se^2)) of hip P01R of errors.csv.
func TestEachRateWeighted(t *testing.T) {
	d := erring(t, yearsOnly)
	r, err := EachRate(d, 1, func(string) int { return 0 })
	require.NoError(t, err)
	near(t, 0.057607705849, r.Slopes[0][0], 1e-9, "weighted slope")
	d.SE[0] = 0
	r, err = EachRate(d, 1, func(string) int { return 0 })
	require.NoError(t, err)
	near(t, 0.0602123123123, r.Slopes[0][0], 1e-9, "one error is not known: none weighs")
}

// Films stop once penetration exceeds 0.55 mm: hips whose readings are high stop early.
// The mean of their own slopes is too high, that of the mixed model is not.
func TestDropout(t *testing.T) {
	r := newRand(5)
	d := Data{Fixed: make([][]float64, 2), Names: []string{"intercept", "rate"}}
	for h := range 400 {
		a, b := 0.1+0.05*r.NormFloat64(), 0.08+0.03*r.NormFloat64()
		for _, x := range []float64{1, 2, 3, 4, 5, 6, 8, 10} {
			y := a + b*x + 0.1*r.NormFloat64()
			d.Hip, d.Time, d.Value = append(d.Hip, fmt.Sprint(h)), append(d.Time, x), append(d.Value, y)
			d.Fixed[0], d.Fixed[1] = append(d.Fixed[0], 1), append(d.Fixed[1], x)
			if y > 0.55 {
				break
			}
		}
	}
	each, err := EachRate(d, 1, func(string) int { return 0 })
	require.NoError(t, err)
	m, err := Fit(d, Options{})
	require.NoError(t, err)
	mean := stat.Mean(each.Slopes[0], nil)
	t.Logf("mean of slopes %.4f, mixed model %.4f (se %.4f), truth 0.08", mean, m.Coef[1], m.Estimate(1).SE)
	assert.Greater(t, mean, 0.09)
	assert.InDelta(t, 0.08, m.Coef[1], 2.5*m.Estimate(1).SE)
}
