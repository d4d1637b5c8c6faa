package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// nist is a set of the Statistical Reference Datasets, transcribed.
type nist struct {
	Data           string
	N              int
	Start1, Start2 map[string]float64
	Parameters     map[string]struct{ Estimate, SD float64 }
	ResidualSD     float64 `json:"residual_sd"`
	ResidualSS     float64 `json:"residual_ss"`
	ResidualDF     int     `json:"residual_df"`
}

func certifiedSet(t *testing.T, name string) nist {
	t.Helper()
	var all struct{ Sets map[string]nist }
	reference(t, "nist_certified.json", &all)
	s, ok := all.Sets[name]
	require.True(t, ok)
	return s
}

func ones(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = 1
	}
	return v
}

// NIST StRD linear regression: Pontius (quadratic, lower difficulty) and
// Longley (six correlated columns, higher difficulty), certified to 15 digits.
func TestFitLinearNIST(t *testing.T) {
	pontius := columns(t, "nist_pontius.csv", nil, "x", "y")
	square := make([]float64, len(pontius[0]))
	for i, x := range pontius[0] {
		square[i] = x * x
	}
	longley := columns(t, "nist_longley.csv", nil, "x1", "x2", "x3", "x4", "x5", "x6", "y")
	for _, c := range []struct {
		name  string
		cols  [][]float64
		y     []float64
		names []string
	}{
		{"Pontius", [][]float64{ones(40), pontius[0], square}, pontius[1], []string{"B0", "B1", "B2"}},
		{"Longley", append([][]float64{ones(16)}, longley[:6]...), longley[6], []string{"B0", "B1", "B2", "B3", "B4", "B5", "B6"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := certifiedSet(t, c.name)
			l, err := FitLinear(c.cols, c.y, nil)
			require.NoError(t, err)
			require.Len(t, c.y, want.N)
			assert.Equal(t, want.ResidualDF, l.DF)
			for j, name := range c.names {
				near(t, want.Parameters[name].Estimate, l.Coef[j], 1e-10, name)
				near(t, want.Parameters[name].SD, l.Estimate(j).SE, 1e-10, "sd of "+name)
			}
			near(t, want.ResidualSD, l.Sigma, 1e-10, "residual sd")
			near(t, want.ResidualSS, l.RSS, 1e-10, "residual sum of squares")
		})
	}
}

// The two routes to a line agree.
func TestFitLinearIsALine(t *testing.T) {
	x := []float64{1, 2, 5, 7.5, 10}
	y := []float64{0.21, 0.28, 0.61, 0.83, 1.09}
	w := []float64{1, 2, 3, 2, 1}
	line, err := FitLine(x, y, w)
	require.NoError(t, err)
	l, err := FitLinear([][]float64{ones(5), x}, y, w)
	require.NoError(t, err)
	near(t, line.Slope, l.Coef[1], 1e-12, "slope")
	near(t, line.SESlope, l.Estimate(1).SE, 1e-12, "se")
	_, se := line.Mean(12)
	near(t, se, l.Combine([]float64{1, 12}).SE, 1e-12, "se of a mean")
	lo, hi := line.SlopeInterval(0.95)
	ci := l.Estimate(1).Interval(0.95)
	near(t, lo, ci.Lo, 1e-12, "lower")
	near(t, hi, ci.Hi, 1e-12, "upper")
	for i := range x {
		near(t, line.Leverage[i], l.Leverage[i], 1e-12, "leverage")
	}
}

func TestFitLinearFaults(t *testing.T) {
	x := []float64{1, 2, 3, 4}
	_, err := FitLinear([][]float64{x, {2, 4, 6, 8}}, x, nil)
	require.ErrorIs(t, err, ErrRank)
	_, err = FitLinear([][]float64{{0, 0, 0, 0}}, x, nil)
	require.ErrorIs(t, err, ErrRank)
	_, err = FitLinear(nil, x, nil)
	require.ErrorIs(t, err, ErrRank)
	var few *TooFewError
	_, err = FitLinear([][]float64{{1, 1}, {1, 2}, {1, 3}}, []float64{1, 2}, nil)
	require.ErrorAs(t, err, &few)
	l, err := FitLinear([][]float64{{1, 1}, {1, 2}}, []float64{1, 2}, nil)
	require.NoError(t, err)
	assert.Equal(t, Unbounded(), l.Estimate(1).Interval(0.95))
	assert.InDelta(t, 1, l.Estimate(1).P(0), 0)
}

func TestEstimate(t *testing.T) {
	e := Estimate{Value: 2.776445, SE: 1, DF: 4}
	assert.InDelta(t, 0.05, e.P(0), 1e-7)
	known := Estimate{Value: 1.959964, SE: 1, DF: math.Inf(1)}
	assert.InDelta(t, 0.05, known.P(0), 1e-7)
	assert.InDelta(t, 0, known.Interval(0.95).Lo, 1e-6)
	assert.True(t, Unbounded().Open())
	assert.False(t, e.Interval(0.9).Open())
	assert.True(t, e.Interval(0.9).Contains(2))
	assert.Zero(t, Estimate{Value: 1, DF: 3}.P(0))
}
