package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// NIST StRD nonlinear regression, from both certified starts, certified to 11
// digits.
func TestFitCurveNIST(t *testing.T) {
	for _, c := range []struct {
		name, file string
		params     []string
		f          func(x float64, b []float64) float64
	}{
		{"Misra1a", "nist_misra1a.csv", []string{"b1", "b2"},
			func(x float64, b []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) }},
		{"Misra1b", "nist_misra1b.csv", []string{"b1", "b2"},
			func(x float64, b []float64) float64 { return b[0] * (1 - math.Pow(1+b[1]*x/2, -2)) }},
		{"BoxBOD", "nist_boxbod.csv", []string{"b1", "b2"},
			func(x float64, b []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) }},
		{"Chwirut2", "nist_chwirut2.csv", []string{"b1", "b2", "b3"},
			func(x float64, b []float64) float64 { return math.Exp(-b[0]*x) / (b[1] + b[2]*x) }},
	} {
		want := certifiedSet(t, c.name)
		d := columns(t, c.file, nil, "x", "y")
		require.Len(t, d[0], want.N)
		for i, start := range []map[string]float64{want.Start1, want.Start2} {
			t.Run([]string{c.name + " far start", c.name + " near start"}[i], func(t *testing.T) {
				var p []float64
				for _, name := range c.params {
					p = append(p, start[name])
				}
				got, err := FitCurve(c.f, p, d[0], d[1], nil)
				require.NoError(t, err)
				for j, name := range c.params {
					near(t, want.Parameters[name].Estimate, got.Params[j], 1e-8, name)
					near(t, want.Parameters[name].SD, got.Estimate(j).SE, 1e-8, "sd of "+name)
				}
				near(t, want.ResidualSS, got.RSS, 1e-8, "residual sum of squares")
				near(t, want.ResidualSD, got.Sigma, 1e-8, "residual sd")
				assert.Equal(t, want.ResidualDF, got.DF)
			})
		}
	}
}

func TestFitCurveFaults(t *testing.T) {
	x, y := []float64{1, 2, 3}, []float64{1, 2, 3.1}
	_, err := FitCurve(func(t float64, p []float64) float64 { return p[0] + p[1] + t }, []float64{1, 1}, x, y, nil)
	require.ErrorIs(t, err, ErrRank)
	_, err = FitCurve(func(_ float64, p []float64) float64 { return math.Log(p[0]) }, []float64{-1}, x, y, nil)
	require.ErrorIs(t, err, ErrRange)
	var few *TooFewError
	_, err = FitCurve(func(_ float64, p []float64) float64 { return p[0] }, []float64{1, 2, 3, 4}, x, y, nil)
	require.ErrorAs(t, err, &few)
}
