package wearfit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rStick is an exhaustive profile over the break, computed with R 4.2.2.
type rStick struct {
	Breakpoint, Intercept, Slope1, Slope2, RSS, Sigma float64
	DF                                                int
	SE                                                map[string]float64 `json:"se_gauss_newton"`
	Profile                                           [2]*float64        `json:"profile95_break"`
	Minima                                            []struct{ Breakpoint, RSS float64 }
	LocalMinima                                       []struct{ Breakpoint, RSS float64 } `json:"local_minima"`
}

// check compares to 1e-7: the reference located breaks by a search that ends
// there.
func (r rStick) check(t *testing.T, s Stick) {
	t.Helper()
	const tol = 1e-7
	near(t, r.Breakpoint, s.Break, tol, "break")
	near(t, r.Intercept, s.Intercept, 1e-6, "intercept")
	near(t, r.Slope1, s.Early, 1e-6, "early slope")
	near(t, r.Slope2, s.Rate, 1e-6, "rate")
	near(t, r.RSS, s.RSS, tol, "rss")
	near(t, r.Sigma, s.Sigma, tol, "sigma")
	assert.Equal(t, r.DF, s.DF)
	require.NotNil(t, s.Cov)
	for i, name := range []string{"intercept", "slope1", "slope2", "breakpoint"} {
		near(t, r.SE[name], math.Sqrt(s.Cov.At(i, i)), 1e-6, "se of "+name)
	}
	ci := s.BreakInterval(0.95)
	for i, got := range []float64{ci.Lo, ci.Hi} {
		if r.Profile[i] == nil {
			assert.True(t, math.IsInf(got, 2*i-1), "end %d is open: %v", i, got)
			continue
		}
		near(t, *r.Profile[i], got, tol, "profile interval")
	}
	assert.Equal(t, r.Profile[0] != nil && r.Profile[1] != nil, s.Identifiable())
}

// Stagnant band data: Bacon DW, Watts DG. Biometrika 1971;58:525-534. Three
// local minima; a search from 0 ends at the second.
func TestFitStickStagnant(t *testing.T) {
	var ref struct {
		Exact rStick `json:"unknown_break_exact"`
		At0   rLine  `json:"fixed_break_0"`
		Slope struct{ Estimate, SE float64 }
		After struct{ Estimate, SE float64 } `json:"fixed_break_0_slope2"`
	}
	reference(t, "stagnant.json", &ref)
	d := columns(t, "stagnant.csv", nil, "x", "y")
	s, err := FitStick(d[0], d[1], nil)
	require.NoError(t, err)
	ref.Exact.check(t, s)
	require.GreaterOrEqual(t, len(s.Minima), 3)
	for i, want := range ref.Exact.LocalMinima {
		assert.InDelta(t, want.Breakpoint, s.Minima[i].At, 1e-7)
		near(t, want.RSS, s.Minima[i].RSS, 1e-9, "rss of a local minimum")
	}

	f, err := FitStickAt(d[0], d[1], nil, 0)
	require.NoError(t, err)
	near(t, ref.At0.Coefficients["intercept"], f.Intercept, certified, "intercept")
	near(t, ref.At0.Coefficients["slope1"], f.Early, certified, "early")
	near(t, ref.At0.Sigma, f.Sigma, certified, "sigma")
	near(t, ref.At0.Lower["slope1"], f.EarlyInterval(0.95).Lo, certified, "lower")
	near(t, ref.After.Estimate, f.Rate, certified, "rate")
	near(t, ref.After.SE, math.Sqrt(f.Cov.At(2, 2)), certified, "se of the rate")
	assert.Equal(t, Interval{0, 0}, f.BreakInterval(0.95))
}

// Four simulated series, three of which do not tell the break.
func TestFitStickPenetration(t *testing.T) {
	var ref struct {
		Series map[string]struct {
			Free  rStick `json:"unknown_break_exact"`
			Fixed struct {
				Intercept, Slope1, Slope2, Sigma float64
				SESlope1                         float64    `json:"se_slope1"`
				SESlope2                         float64    `json:"se_slope2"`
				Slope2CI                         [2]float64 `json:"slope2_ci95"`
				DF                               int
			} `json:"fixed_break_1_year"`
		}
	}
	reference(t, "penetration_fits.json", &ref)
	for _, name := range []string{"A", "B", "C", "D"} {
		t.Run(name, func(t *testing.T) {
			want, ok := ref.Series[name]
			require.True(t, ok)
			d := columns(t, seriesFile,
				func(m map[string]string) bool { return m["series"] == name }, "t", "y")
			s, err := FitStick(d[0], d[1], nil)
			require.NoError(t, err)
			want.Free.check(t, s)
			assert.Equal(t, name == "B", s.Identifiable())
			// The reference lists the ends of the range too, minima or not.
			x := distinct(d[0])
			for _, m := range want.Free.LocalMinima {
				found := math.Abs(m.Breakpoint-x[1]) < 1e-6 || math.Abs(m.Breakpoint-x[len(x)-2]) < 1e-6
				for _, g := range s.Minima {
					found = found || math.Abs(g.At-m.Breakpoint) < 1e-6 && math.Abs(g.RSS-m.RSS) < 1e-8
				}
				assert.True(t, found, "minimum at %v", m.Breakpoint)
			}

			f, err := FitStickAt(d[0], d[1], nil, 1)
			require.NoError(t, err)
			near(t, want.Fixed.Intercept, f.Intercept, certified, "intercept")
			near(t, want.Fixed.Slope1, f.Early, certified, "early")
			near(t, want.Fixed.Slope2, f.Rate, certified, "rate")
			near(t, want.Fixed.SESlope1, math.Sqrt(f.Cov.At(1, 1)), certified, "se early")
			near(t, want.Fixed.SESlope2, math.Sqrt(f.Cov.At(2, 2)), certified, "se rate")
			near(t, want.Fixed.Slope2CI[0], f.RateInterval(0.95).Lo, certified, "lower")
			near(t, want.Fixed.Slope2CI[1], f.RateInterval(0.95).Hi, certified, "upper")
			assert.Equal(t, want.Fixed.DF, f.DF)
		})
	}
}

// The closed profile agrees with a fit at each break, and the interval of the
// rate is where the profile of the rate leaves the limit.
func TestStickProfile(t *testing.T) {
	d := columns(t, seriesFile,
		func(m map[string]string) bool { return m["series"] == "B" }, "t", "y", "sd")
	w := inverseSquares(d[2])
	s, err := FitStick(d[0], d[1], w)
	require.NoError(t, err)
	for _, p := range s.spans {
		for _, at := range []float64{p.lo, (p.lo + p.hi) / 2, p.hi} {
			f, err := FitStickAt(d[0], d[1], w, at)
			require.NoError(t, err)
			rss, _ := p.at(at)
			near(t, f.RSS, rss, 1e-9, "profile")
		}
	}
	ci := s.RateInterval(0.95)
	assert.True(t, ci.Contains(s.Rate))
	limit := s.model.limit(0.95)
	for _, end := range []float64{ci.Lo, ci.Hi} {
		// The least residual sum of squares with the rate held at the end.
		rest := make([]float64, len(d[1]))
		least := math.Inf(1)
		for k := range 4001 {
			at := d[0][1] + (d[0][len(d[0])-2]-d[0][1])*float64(k)/4000
			for i := range rest {
				rest[i] = d[1][i] - end*max(d[0][i]-at, 0)
			}
			before := make([]float64, len(rest))
			for i, v := range d[0] {
				before[i] = min(v, at)
			}
			l, err := FitLinear([][]float64{ones(len(rest)), before}, rest, w)
			require.NoError(t, err)
			least = min(least, l.RSS)
		}
		near(t, limit, least, 1e-5, "profile of the rate at its end")
	}
}

func TestFitStickFaults(t *testing.T) {
	var few *TooFewError
	_, err := FitStick([]float64{1, 2, 3, 4}, []float64{1, 2, 3, 4}, nil)
	require.ErrorAs(t, err, &few)
	var times *TooFewTimesError
	_, err = FitStick([]float64{1, 2, 3, 3, 3}, []float64{1, 2, 3, 4, 5}, nil)
	require.ErrorAs(t, err, &times)
	_, err = FitStickAt([]float64{1, 2, 3, 4}, []float64{1, 2, 3, 4}, nil, 9)
	require.ErrorIs(t, err, ErrBreak)
	// A straight series: no break to find, no NaN either.
	s, err := FitStick([]float64{0, 1, 2, 3, 4, 5}, []float64{0, 1, 2, 3, 4, 5}, nil)
	require.NoError(t, err)
	assert.InDelta(t, 1, s.Rate, 1e-9)
	assert.False(t, math.IsNaN(s.RateInterval(0.95).Lo))
}

// The ends of the rate's interval are the farthest of a search over every break.
func TestStickIntervalReachesItsEnds(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for run := range 16 {
		n := 5 + run%9
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i) + 0.8*r.Float64()
			y[i] = 0.15*min(x[i], 1.5) + 0.05*x[i] + []float64{0.002, 0.01, 0.03, 0.1}[run%4]*r.NormFloat64()
		}
		s, err := FitStick(x, y, nil)
		require.NoError(t, err)
		got, m := s.RateInterval(0.95), s.bend()
		lo, hi := math.Inf(1), math.Inf(-1)
		first, last := s.spans[0].lo, s.spans[len(s.spans)-1].hi
		for k := range 2001 {
			h := m.hold(first + (last-first)*float64(k)/2000)
			lo = min(lo, -h.reach([]float64{0, 1, 1}, 0, -1, m.limit(0.95)))
			hi = max(hi, h.reach([]float64{0, 1, 1}, 0, 1, m.limit(0.95)))
		}
		width := got.Hi - got.Lo
		assert.LessOrEqual(t, got.Lo, lo+1e-3*width, "run %d", run)
		assert.GreaterOrEqual(t, got.Hi, hi-1e-3*width, "run %d", run)
	}
}
