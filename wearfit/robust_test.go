package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// scipy 1.10.1: stats.theilslopes(y, x, 0.95, method="joint"), siegelslopes.
func TestTheilSen(t *testing.T) {
	type set struct {
		Joint struct {
			Slope, Intercept float64
			Lower            float64 `json:"slope_lower95"`
			Upper            float64 `json:"slope_upper95"`
		}
		Siegel struct{ Slope, Intercept float64 } `json:"siegel_repeated_medians"`
		Pairs  int                                `json:"pairs_with_different_x"`
	}
	var sets struct {
		Phones set
		Stack  set `json:"stackloss_air_flow"`
		A      set `json:"penetration_A_from_1_year"`
		B      set `json:"penetration_B_from_1_year"`
		C      set `json:"penetration_C_from_1_year"`
		D      set `json:"penetration_D_from_1_year"`
	}
	reference(t, "theil_sen.json", &sets)
	series := func(name string) [][]float64 {
		return columns(t, seriesFile, func(m map[string]string) bool {
			return m["series"] == name && m["t"] >= "1" // times below 1 start with 0
		}, "t", "y")
	}
	for _, c := range []struct {
		name string
		want set
		d    [][]float64
	}{
		{"phones", sets.Phones, columns(t, "robust_phones.csv", nil, "year", "calls")},
		{"stack loss", sets.Stack, columns(t, "robust_stackloss.csv", nil, "Air.Flow", "stack.loss")},
		{"A", sets.A, series("A")},
		{"B", sets.B, series("B")},
		{"C", sets.C, series("C")},
		{"D", sets.D, series("D")},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := FitTheilSen(c.d[0], c.d[1])
			require.NoError(t, err)
			assert.Len(t, l.slopes, c.want.Pairs)
			near(t, c.want.Joint.Slope, l.Slope, 1e-12, "slope")
			near(t, c.want.Joint.Intercept, l.Intercept, 1e-12, "intercept")
			ci := l.SlopeInterval(0.95)
			near(t, c.want.Joint.Lower, ci.Lo, 1e-12, "lower")
			near(t, c.want.Joint.Upper, ci.Hi, 1e-12, "upper")
			s, err := FitSiegel(c.d[0], c.d[1])
			require.NoError(t, err)
			near(t, c.want.Siegel.Slope, s.Slope, 1e-12, "repeated median")
			near(t, c.want.Siegel.Intercept, s.Intercept, 1e-12, "its intercept")
			assert.Equal(t, Unbounded(), s.SlopeInterval(0.95))
		})
	}
}

// MASS 7.3-58.2: rlm(maxit = 500, acc = 1e-12). The line printed in the book
// for the phones data stopped early.
func TestHuber(t *testing.T) {
	type fit struct {
		Coefficients, SE map[string]float64
		Scale            float64
		Weights          []float64
	}
	var sets struct {
		Phones, Stackloss struct{ Huber fit }
		One               struct{ Huber fit } `json:"stackloss_one_predictor"`
	}
	reference(t, "robust.json", &sets)
	phones := columns(t, "robust_phones.csv", nil, "year", "calls")
	stack := columns(t, "robust_stackloss.csv", nil, "Air.Flow", "Water.Temp", "Acid.Conc.", "stack.loss")
	for _, c := range []struct {
		name  string
		want  fit
		cols  [][]float64
		y     []float64
		names []string
	}{
		{"phones", sets.Phones.Huber, [][]float64{ones(24), phones[0]}, phones[1], []string{"(Intercept)", "year"}},
		{"stack loss", sets.Stackloss.Huber, append([][]float64{ones(21)}, stack[:3]...), stack[3],
			[]string{"(Intercept)", "Air.Flow", "Water.Temp", "Acid.Conc."}},
		{"stack loss on air flow", sets.One.Huber, [][]float64{ones(21), stack[0]}, stack[3], []string{"(Intercept)", "Air.Flow"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			h, err := FitHuber(c.cols, c.y)
			require.NoError(t, err)
			for j, name := range c.names {
				// The reference stopped at a relative step of 1e-12.
				near(t, c.want.Coefficients[name], h.Coef[j], 1e-9, name)
				near(t, c.want.SE[name], h.Estimate(j).SE, 1e-8, "se of "+name)
			}
			near(t, c.want.Scale, h.Scale, 1e-9, "scale")
			for i, w := range c.want.Weights {
				assert.InDelta(t, w, h.Weights[i], 1e-7)
			}
		})
	}
}

func TestRobustFaults(t *testing.T) {
	_, err := FitTheilSen([]float64{1, 1}, []float64{1, 2})
	require.ErrorIs(t, err, ErrEqualTimes)
	_, err = FitSiegel([]float64{1, 1}, []float64{1, 2})
	require.ErrorIs(t, err, ErrEqualTimes)
	_, err = FitHuber([][]float64{{1, 1, 1, 1}, {1, 2, 3, 4}}, []float64{1, 2, 3, 4})
	require.ErrorIs(t, err, ErrNoScatter)
	var few *TooFewError
	_, err = FitHuber([][]float64{{1, 1}, {1, 2}}, []float64{1, 2})
	require.ErrorAs(t, err, &few)
	l, err := FitTheilSen([]float64{1, 5}, []float64{0.2, 0.6})
	require.NoError(t, err)
	assert.InDelta(t, 0.1, l.Slope, 1e-15)
	assert.Equal(t, Unbounded(), l.SlopeInterval(0.95), "two films have no interval")
	// One wild film moves the median of the slopes little.
	w, err := FitTheilSen([]float64{1, 2, 3, 4, 5, 6, 7}, []float64{0.1, 0.2, 0.3, 9, 0.5, 0.6, 0.7})
	require.NoError(t, err)
	assert.InDelta(t, 0.1, w.Slope, 1e-12)
	assert.False(t, math.IsNaN(w.Intercept))
}
