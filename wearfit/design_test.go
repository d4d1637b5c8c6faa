package wearfit

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Cohen J. Statistical Power Analysis, 2nd ed. 1988, table 2.4.1, two-sided
// 0.05: hips per group for a difference of 0.2, 0.5 and 0.8 standard deviations
// (393, 64 and 26 at power 0.80, 85 at 0.90 for 0.5; from memory; later exact
// computations give 394 for the first).
func TestPerGroup(t *testing.T) {
	// A film at each end of one year read with SD s has a rate SD of s sqrt(2).
	for _, c := range []struct {
		d, power float64
		want     int
	}{{0.2, 0.8, 394}, {0.5, 0.8, 64}, {0.8, 0.8, 26}, {0.5, 0.9, 86}} {
		p := Plan{Times: []float64{0, 1}, SD: 1 / math.Sqrt2, Difference: c.d, Level: 0.95, Power: c.power}
		n, err := p.PerGroup()
		require.NoError(t, err)
		assert.InDelta(t, c.want, n, 0, "%+v", c)
	}
}

// The planned power is what simulated studies have.
func TestPerGroupSimulated(t *testing.T) {
	p := Plan{Times: []float64{1, 2, 5}, SD: 0.1, BetweenSD: 0.02, Difference: 0.03, Level: 0.95, Power: 0.8}
	n, err := p.PerGroup()
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(4, 4))
	const runs = 2000
	found := 0
	for range runs {
		var g [2][]float64
		for i := range g {
			for range n {
				b := 0.05 + p.Difference*float64(i) + p.BetweenSD*r.NormFloat64()
				y := make([]float64, len(p.Times))
				for k, x := range p.Times {
					y[k] = b*x + p.SD*r.NormFloat64()
				}
				l, err := FitLine(p.Times, y, nil)
				require.NoError(t, err)
				g[i] = append(g[i], l.Slope)
			}
		}
		w, err := CompareMeans(g[0], g[1])
		require.NoError(t, err)
		if w.P < 0.05 {
			found++
		}
	}
	// Four standard errors of 2000 runs.
	assert.InDelta(t, 0.8, float64(found)/runs, 0.036)
}

func TestMinimumRate(t *testing.T) {
	// Films at 1 and 5 years, 0.1 mm: error 0.1 sqrt(2)/4; 1.96 + 0.8416.
	m, err := MinimumRate([]float64{1, 5}, 0.1, 0.95, 0.8)
	require.NoError(t, err)
	assert.InDelta(t, 0.0353553*2.8015853, m, 1e-6)
	// R 4.2.2, uniroot of 1 - pt(q, df, d) + pt(-q, df, d) - 0.8 with q = qt(0.975, df).
	for _, c := range []struct {
		times []float64
		want  float64
	}{
		{[]float64{1, 2, 5}, 0.5548386936},
		{[]float64{1, 2, 5, 10}, 0.08076413237},
		{[]float64{1, 2, 3, 5, 10}, 0.05971169848},
		{[]float64{1, 2, 3, 4, 5, 6, 7, 8, 10, 12}, 0.03030000325},
	} {
		m, err := MinimumRate(c.times, 0.1, 0.95, 0.8)
		require.NoError(t, err)
		near(t, c.want, m, 1e-6, "least rate")
	}
	_, err = MinimumRate([]float64{1}, 0.1, 0.95, 0.8)
	require.ErrorIs(t, err, ErrDesign)
	_, err = MinimumRate([]float64{1, 2}, 0, 0.95, 0.8)
	require.ErrorIs(t, err, ErrDesign)
	_, err = Plan{Times: []float64{1, 2}, SD: 1, Level: 0.95, Power: 0.8}.PerGroup()
	require.ErrorIs(t, err, ErrDesign)
	_, err = MinimumRate([]float64{2, 2}, 0.1, 0.95, 0.8)
	require.ErrorIs(t, err, ErrEqualTimes)
}

// Five against five: 4 of 252 arrangements have a U of at most 2.
func TestCompareRanks(t *testing.T) {
	m, err := CompareRanks([]float64{1, 2, 3, 4, 7}, []float64{5, 6, 8, 9, 10})
	require.NoError(t, err)
	assert.InDelta(t, 2, m.U, 0)
	assert.True(t, m.Exact)
	assert.InDelta(t, 8.0/252, m.P, 1e-12)
	// All apart: the least probability there is.
	m, err = CompareRanks([]float64{1, 2, 3}, []float64{4, 5, 6})
	require.NoError(t, err)
	assert.InDelta(t, 2.0/20, m.P, 1e-12)
	// The approximation comes near the count where both can be had.
	var a, b []float64
	for i := range 30 {
		a, b = append(a, float64(3*i)), append(b, float64(3*i+13))
	}
	e, err := CompareRanks(a, b)
	require.NoError(t, err)
	n, err := CompareRanks(append(a, 1000, 1000), b)
	require.NoError(t, err)
	assert.True(t, e.Exact)
	assert.False(t, n.Exact)
	mid, sd := 30*30/2.0, math.Sqrt(30*30*61/12.0)
	z := (math.Abs(e.U-mid) - 0.5) / sd
	assert.InDelta(t, math.Erfc(z/math.Sqrt2), e.P, 0.003)
	_, err = CompareRanks([]float64{1, 1}, []float64{1, 1})
	require.ErrorIs(t, err, ErrNoScatter)
	_, err = CompareMeans([]float64{1, 1}, []float64{1, 1})
	require.ErrorIs(t, err, ErrNoScatter)
}

// R 4.2.2 oneway.test and kruskal.test, three groups with ties.
func TestCompareAll(t *testing.T) {
	groups := [][]float64{{.10, .12, .09, .14, .11}, {.05, .07, .06, .055}, {.12, .20, .09, .10, .31, .12}}
	m, err := CompareAllMeans(groups)
	require.NoError(t, err)
	near(t, 16.9642441529, m.F, 1e-10, "F")
	near(t, 7.17969934946, m.DF2, 1e-10, "df")
	near(t, 0.00190341146884, m.P, 1e-9, "p")
	r, err := CompareAllRanks(groups)
	require.NoError(t, err)
	near(t, 8.63586040915, r.H, 1e-10, "H")
	near(t, 0.013327440089, r.P, 1e-9, "p")
	assert.Equal(t, 2, r.DF)

	two, err := CompareAllMeans(groups[:2])
	require.NoError(t, err)
	welch, err := CompareMeans(groups[0], groups[1])
	require.NoError(t, err)
	near(t, welch.P, two.P, 1e-9, "two groups: the t test")
	near(t, welch.Difference.DF, two.DF2, 1e-9, "its df")

	var few *TooFewError
	_, err = CompareAllMeans([][]float64{{1, 2}, {3}})
	require.ErrorAs(t, err, &few)
	_, err = CompareAllMeans(groups[:1])
	require.ErrorAs(t, err, &few)
	_, err = CompareAllRanks(groups[:1])
	require.ErrorAs(t, err, &few)
	_, err = CompareAllMeans([][]float64{{1, 2}, {3, 3}})
	require.ErrorIs(t, err, ErrNoScatter)
	_, err = CompareAllRanks([][]float64{{1, 1}, {1}})
	require.ErrorIs(t, err, ErrNoScatter)
	var bad *NonFiniteError
	_, err = CompareAllRanks([][]float64{{1, math.NaN()}, {1}})
	require.ErrorAs(t, err, &bad)
}
