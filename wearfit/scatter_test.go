package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Lines through readings of unequal known errors are those of metafor 3.8-1 in R 4.2.2:
// rma(y, se^2, mods = ~ t, method = "PM", test = "knha", control = list(tol = 1e-14)).
func TestFitReadings(t *testing.T) {
	years := []float64{1, 2, 3, 5, 7, 10}
	se := []float64{0.02, 0.06, 0.03, 0.05, 0.02, 0.09}
	for _, c := range []struct {
		name string
		y    []float64
		want []float64 // extra, intercept, slope, their errors, lower and upper end of the slope
	}{
		{"scatter beyond the errors", []float64{0.21, 0.33, 0.27, 0.52, 0.48, 0.81},
			[]float64{0.00393379621425, 0.15320139842090, 0.05707898724015, 0.05602400241285, 0.01117581787143, 0.02604994241442, 0.08810803206587}},
		{"less scatter than the errors", []float64{0.201, 0.23, 0.31, 0.43, 0.497, 0.66},
			[]float64{0, 0.15271477204459, 0.04981656765236, 0.00806377475136, 0.00168420784204, 0.04514045703319, 0.05449267827153}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, s, err := FitReadings(years, c.y, se)
			require.NoError(t, err)
			lo, hi := l.SlopeInterval(0.95)
			for i, got := range []float64{s.Extra, l.Intercept, l.Slope, l.SEIntercept, l.SESlope, lo, hi} {
				assert.InDelta(t, c.want[i], got, 1e-8, "%d", i)
			}
			assert.LessOrEqual(t, l.Sigma, 1+1e-9)
		})
	}
}

// Equal errors, or none, are least squares; two films have no scatter of their own.
func TestFitReadingsPlain(t *testing.T) {
	years, y := []float64{1, 2, 5, 9}, []float64{0.2, 0.3, 0.35, 0.6}
	plain, err := FitLine(years, y, nil)
	require.NoError(t, err)
	for _, se := range [][]float64{nil, {0.01, 0.01, 0.01, 0.01}, {9, 9, 9, 9}} {
		l, s, err := FitReadings(years, y, se)
		require.NoError(t, err)
		near(t, plain.Slope, l.Slope, 1e-12, "slope")
		near(t, plain.SESlope, l.SESlope, 1e-9, "error")
		assert.Equal(t, se != nil, s.Known)
	}
	l, s, err := FitReadings(years[:2], y[:2], []float64{0.03, 0.04})
	require.NoError(t, err)
	near(t, 0.05, l.WithSigma(1).SESlope, 1e-12, "from the readings")
	near(t, 1/0.0025, s.Weight(0.05), 1e-12, "weight")
	_, _, err = FitReadings(years, y, []float64{0.1, 0.1, 0, 0.1})
	var zero *WeightError
	require.ErrorAs(t, err, &zero)
	_, _, err = FitReadings(years, []float64{1, 1, 1, 1}, []float64{0.1, 0.2, 0.1, 0.1})
	require.NoError(t, err)
}

// The extra variance solves its equation at any size of the errors.
func TestBalanceAtAnySize(t *testing.T) {
	years, y := []float64{1, 2, 3, 5}, []float64{0.2, 0.5, 0.3, 0.7}
	for _, scale := range []float64{1e-9, 1e-3, 1, 1e3} {
		se := []float64{1e-6 * scale, scale, 1e-3 * scale, 0.1 * scale}
		l, s, err := FitReadings(years, y, se)
		require.NoError(t, err)
		if s.Extra > 0 {
			assert.InDelta(t, 1, l.Sigma, 1e-8, "scale %g", scale)
		}
		assert.False(t, math.IsNaN(l.SESlope))
	}
}

// A line counted from its own value: only the slope is uncertain.
func TestLineSince(t *testing.T) {
	l, err := FitLine([]float64{1, 2, 5, 9}, []float64{0.2, 0.3, 0.35, 0.6}, nil)
	require.NoError(t, err)
	s := l.Since(1)
	lo, hi := l.SlopeInterval(0.95)
	got := s.MeanInterval(6, 0.95)
	near(t, 5*lo, got.Lo, 1e-12, "lower")
	near(t, 5*hi, got.Hi, 1e-12, "upper")
	r := s.TimeTo(1, 0, 0.95)
	near(t, 1+1/l.Slope, r.At, 1e-12, "time")
	near(t, 1+1/hi, r.Lo, 1e-12, "early")
	near(t, 1+1/lo, r.Hi, 1e-12, "late")
	assert.Equal(t, Interval{}, s.MeanInterval(1, 0.95))
}
