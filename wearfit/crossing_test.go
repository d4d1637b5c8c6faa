package wearfit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func series(t *testing.T, name string) [][]float64 {
	t.Helper()
	return columns(t, seriesFile, func(m map[string]string) bool { return m["series"] == name }, "t", "y", "sd")
}

// With the break known the model is linear: the intervals are those of least
// squares, and the time to a level is Fieller's.
func TestStickPredictsLinearly(t *testing.T) {
	d := series(t, "B")
	s, err := FitStickAt(d[0], d[1], nil, 1)
	require.NoError(t, err)
	l, err := FitLinear(s.model.design(1), d[1], nil)
	require.NoError(t, err)
	e := l.Combine([]float64{1, 20, 19})
	got := s.Band(0.95)(20)
	near(t, e.Interval(0.95).Lo, got.Lo, certified, "mean, lower")
	near(t, e.Interval(0.95).Hi, got.Hi, certified, "mean, upper")
	near(t, e.Value, s.Mean(20), certified, "mean")
	film := Estimate{e.Value, math.Hypot(e.SE, l.Sigma/2), e.DF}.Interval(0.95)
	got = s.PredictInterval(20, 4, 0.95)
	near(t, film.Lo, got.Lo, certified, "film, lower")
	near(t, film.Hi, got.Hi, certified, "film, upper")

	// At the ends of Fieller's interval the interval of the rise ends at the level.
	c := s.TimeTo(1, 0.95)
	first := d[0][0]
	near(t, 1+(1-s.Early*(1-first))/s.Rate, c.At, certified, "time")
	assert.True(t, c.Beyond)
	require.True(t, c.Told())
	for i, at := range []float64{c.Times[0].Lo, c.Times[0].Hi} {
		e := l.Combine([]float64{0, at - first, at - 1}).Interval(0.95)
		near(t, 1, []float64{e.Hi, e.Lo}[i], 1e-9, "the level")
	}
}

// With the break or the time constant unknown, the region is where the interval
// of the curve holds the level: two routes, one by curves through the level, the
// other by the ends of the curve's interval.
func TestCrossingIsWhereTheBandHoldsTheLevel(t *testing.T) {
	d := series(t, "B")
	w := inverseSquares(d[2])
	s, err := FitStick(d[0], d[1], w)
	require.NoError(t, err)
	b, err := FitBedding(d[0], d[1], w)
	require.NoError(t, err)
	for _, m := range []struct {
		name string
		c    Crossing
		mean func(t float64) float64
		band func(t, level float64) Interval
	}{
		{"stick", s.TimeTo(1, 0.95), s.Rise, s.RiseInterval},
		{"stick, early", s.TimeTo(0.2, 0.95), s.Rise, s.RiseInterval},
		{"bedding-in", b.TimeTo(1, 0.95), b.Rise, b.RiseInterval},
		{"bedding-in, early", b.TimeTo(0.1, 0.95), b.Rise, b.RiseInterval},
	} {
		t.Run(m.name, func(t *testing.T) {
			require.True(t, m.c.Told(), "%v", m.c.Times)
			r := m.c.Times[0]
			near(t, m.c.Level, m.mean(m.c.At), 1e-9, "level")
			assert.True(t, r.Contains(m.c.At))
			near(t, m.c.Level, m.band(r.Lo, 0.95).Hi, 1e-4, "upper band")
			near(t, m.c.Level, m.band(r.Hi, 0.95).Lo, 1e-4, "lower band")
			assert.Equal(t, m.c.Level == 1, m.c.Beyond)
		})
	}
	assert.Less(t, s.PredictInterval(20, 1e9, 0.95).Hi-s.Band(0.95)(20).Hi, 1e-3, "a film without error")
	assert.Greater(t, s.PredictInterval(20, 100, 0.95).Hi, s.Band(0.95)(20).Hi)
}

func TestCrossingShapes(t *testing.T) {
	inf := math.Inf(1)
	d := series(t, "B")
	b, err := FitBedding(d[0], d[1], nil)
	require.NoError(t, err)
	s, err := FitStick(d[0], d[1], nil)
	require.NoError(t, err)
	t.Run("empty", func(t *testing.T) {
		for _, c := range []Crossing{b.TimeTo(-1, 0.95), s.TimeTo(-1, 0.95)} {
			assert.Empty(t, c.Times)
			assert.True(t, math.IsInf(c.At, 1))
			assert.False(t, c.Told())
		}
	})
	t.Run("never told", func(t *testing.T) {
		// Bedding-in may last as long as the films: nothing after them is told,
		// what lies between them is.
		c := series(t, "C")
		b, err := FitBedding(c[0], c[1], nil)
		require.NoError(t, err)
		got := b.TimeTo(2, 0.95)
		require.Len(t, got.Times, 1)
		assert.InDelta(t, 10, got.Times[0].Lo, 1e-9)
		assert.True(t, math.IsInf(got.Times[0].Hi, 1))
		assert.Equal(t, Unbounded(), b.Band(0.95)(11))
		assert.Equal(t, Unbounded(), b.PredictInterval(11, 1, 0.95))
		assert.False(t, b.Band(0.95)(5).Open())
		assert.True(t, b.TimeTo(0.3, 0.95).Told())
	})
	x := []float64{0, 0.5, 1, 2, 4, 6, 8, 10}
	t.Run("may be never", func(t *testing.T) {
		s, err := FitStickAt(x, []float64{0, .11, .19, .22, .18, .21, .23, .19}, nil, 1)
		require.NoError(t, err)
		c := s.TimeTo(0.5, 0.95)
		require.Len(t, c.Times, 1)
		assert.True(t, math.IsInf(c.Times[0].Hi, 1))
		assert.Greater(t, c.Times[0].Lo, 10.0)
	})
	t.Run("passed twice", func(t *testing.T) {
		s, err := FitStickAt(x, []float64{0, .31, .6, .5, .29, .11, -.1, -.3}, nil, 1)
		require.NoError(t, err)
		c := s.TimeTo(0.2, 0.95)
		require.Len(t, c.Times, 2)
		assert.True(t, c.Times[0].Contains(c.At))
		assert.True(t, c.Times[1].Contains(5))
	})
	t.Run("too few films for an interval", func(t *testing.T) {
		s, err := FitStickAt([]float64{0, 1, 5}, []float64{0, .2, .4}, nil, 1)
		require.NoError(t, err)
		c := s.TimeTo(0.5, 0.95)
		assert.InDelta(t, 7, c.At, 1e-9)
		assert.Equal(t, []Interval{{0, inf}}, c.Times)
	})
}

// The stated intervals hold a further film and the true time in about 95 % of
// simulated hips.
func TestCrossingCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("simulation")
	}
	r := rand.New(rand.NewPCG(8, 3))
	x := []float64{0.1, 0.25, 0.5, 1, 2, 3, 5, 7, 10}
	const runs, sd = 100, 0.02
	var film, time [2]int
	for range runs {
		for k, truth := range []func(t float64) float64{
			func(t float64) float64 { return 0.15*min(t, 1) + 0.06*t },
			func(t float64) float64 { return -0.2*math.Expm1(-t/0.5) + 0.06*t },
		} {
			y := make([]float64, len(x))
			for i, v := range x {
				y[i] = truth(v) + sd*r.NormFloat64()
			}
			next := truth(13) + sd*r.NormFloat64()
			at := border(func(t float64) bool { return truth(t)-truth(x[0]) > 1.2 }, 0, 100)
			var c Crossing
			var p Interval
			if k == 0 {
				s, err := FitStick(x, y, nil)
				require.NoError(t, err)
				c, p = s.TimeTo(1.2, 0.95), s.PredictInterval(13, 1, 0.95)
			} else {
				b, err := FitBedding(x, y, nil)
				require.NoError(t, err)
				c, p = b.TimeTo(1.2, 0.95), b.PredictInterval(13, 1, 0.95)
			}
			if p.Contains(next) {
				film[k]++
			}
			for _, i := range c.Times {
				if i.Contains(at) {
					time[k]++
				}
			}
		}
	}
	t.Logf("stick: film %.3f, time %.3f; bedding-in: film %.3f, time %.3f of %d", float64(film[0])/runs,
		float64(time[0])/runs, float64(film[1])/runs, float64(time[1])/runs, runs)
	for _, n := range append(film[:], time[:]...) {
		// Three standard errors of 100 runs are 0.065; with nine films and four
		// parameters the profile is approximate.
		assert.InDelta(t, 0.95, float64(n)/runs, 0.066)
	}
}
