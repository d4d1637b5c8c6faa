package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two routes: the profile over the time constant, and a search in all three
// parameters at once.
func TestFitBedding(t *testing.T) {
	d := columns(t, seriesFile,
		func(m map[string]string) bool { return m["series"] == "B" }, "t", "y", "sd")
	w := inverseSquares(d[2])
	b, err := FitBedding(d[0], d[1], w)
	require.NoError(t, err)
	c, err := FitCurve(func(t float64, p []float64) float64 {
		u := t - d[0][0]
		return p[0] + p[1]*(1-math.Exp(-u/math.Exp(p[3]))) + p[2]*u
	}, []float64{0, 0.1, 0.1, 0.5}, d[0], d[1], w)
	require.NoError(t, err)
	near(t, c.Params[0], b.Origin, 1e-5, "origin")
	near(t, c.Params[1], b.Creep, 1e-6, "bedding-in")
	near(t, c.Params[2], b.Rate, 1e-6, "rate")
	near(t, math.Exp(c.Params[3]), b.Tau, 1e-6, "time constant")
	near(t, c.RSS, b.RSS, 1e-10, "rss")
	require.NotNil(t, b.Cov)
	for j := range 4 {
		near(t, c.Estimate(j).SE, math.Sqrt(b.Cov.At(j, j)), 1e-5, "se")
	}
	require.True(t, b.Identifiable())

	// At the ends of its interval the profile is at its limit.
	limit := b.model.limit(0.95)
	ci := b.TauInterval(0.95)
	near(t, limit, b.model.holder().rss(math.Log(ci.Lo)), 1e-9, "lower end")
	near(t, limit, b.model.holder().rss(math.Log(ci.Hi)), 1e-9, "upper end")
	assert.True(t, ci.Contains(b.Tau))
	since := make([]float64, len(d[0]))
	for i, v := range d[0] {
		since[i] = v - d[0][0]
	}
	for _, end := range []float64{b.RateInterval(0.95).Lo, b.RateInterval(0.95).Hi} {
		rest := make([]float64, len(d[1]))
		for i := range rest {
			rest[i] = d[1][i] - end*d[0][i]
		}
		least := math.Inf(1)
		for k := range 4001 {
			tau := math.Exp(math.Log(0.01) + 8*float64(k)/4000)
			l, err := FitLinear([][]float64{unit(len(rest)), settling(since, tau)}, rest, w)
			require.NoError(t, err)
			least = min(least, l.RSS)
		}
		near(t, limit, least, 1e-4, "profile of the rate at its end")
	}
	assert.InDelta(t, b.Origin+b.Creep*(1-math.Exp(-2/b.Tau))+2*b.Rate, b.Mean(d[0][0]+2), 1e-14)
}

// Without noise the truth comes back.
func TestFitBeddingExact(t *testing.T) {
	x := []float64{0, 0.1, 0.25, 0.5, 1, 2, 5, 10}
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = 0.03 + 0.2*(1-math.Exp(-v/0.7)) + 0.05*v
	}
	b, err := FitBedding(x, y, nil)
	require.NoError(t, err)
	assert.InDelta(t, 0.03, b.Origin, 1e-7)
	assert.InDelta(t, 0.2, b.Creep, 1e-7)
	assert.InDelta(t, 0.2*(1-math.Exp(-2/0.7))+0.1, b.Rise(2), 1e-7)
	assert.InDelta(t, b.Mean(2)-b.Mean(0.5), b.Since(0.5).Rise(2), 1e-12)
	assert.InDelta(t, 0.7, b.Tau, 1e-6)
	assert.InDelta(t, 0.05, b.Rate, 1e-8)
	assert.InDelta(t, 0.05, b.RateInterval(0.95).Lo, 1e-6)
	assert.InDelta(t, 0.05, b.RateInterval(0.95).Hi, 1e-6)
}

// A straight series cannot tell the time constant: the interval is open, and
// says nothing of bedding-in that lasts as long as the films.
func TestFitBeddingNotIdentifiable(t *testing.T) {
	d := columns(t, seriesFile,
		func(m map[string]string) bool { return m["series"] == "C" }, "t", "y")
	b, err := FitBedding(d[0], d[1], nil)
	require.NoError(t, err)
	assert.False(t, b.Identifiable())
	assert.Equal(t, Unbounded(), b.RateInterval(0.95))
	assert.Equal(t, Unbounded(), b.CreepInterval(0.95))
}

func TestFitBeddingFaults(t *testing.T) {
	_, err := FitBedding([]float64{-1, 1, 2, 3, 4}, []float64{0, 1, 2, 3, 4}, nil)
	require.ErrorIs(t, err, ErrBeforeSurgery)
	var few *TooFewError
	_, err = FitBedding([]float64{0, 1, 2, 3}, []float64{0, 0, 1, 2}, nil)
	require.ErrorAs(t, err, &few)
	var times *TooFewTimesError
	_, err = FitBedding([]float64{0, 1, 2, 2, 2}, []float64{0, 1, 2, 3, 3}, nil)
	require.ErrorAs(t, err, &times)
}
