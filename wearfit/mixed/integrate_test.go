package mixed

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lineOfGroup are intercept and rate of simulated's hips as combinations.
func lineOfGroup(hip string) (intercept, rate []float64) {
	g := float64((hip[len(hip)-1] - '0') % 2)
	return []float64{1, 0, g, 0}, []float64{0, 1, 0, g}
}

// With many hips the variances are all but known: the intervals are those of Shrink,
// a little wider. With few they are much wider.
func TestIntegrate(t *testing.T) {
	wider := func(hips int) (least, most float64) {
		m, err := Fit(simulated(hips, false, 3), Options{})
		require.NoError(t, err)
		list, err := m.Integrate(lineOfGroup, 0.95, 1)
		require.NoError(t, err)
		require.Len(t, list, hips)
		least = 99
		for i, e := range m.Effects() {
			a, b := lineOfGroup(e.Hip)
			s := m.Shrink(e, a, b)
			require.Equal(t, e.Hip, list[i].Hip)
			assert.InDelta(t, s.Rate.Value, list[i].Rate.Mean, 1.96*s.Rate.SE)
			assert.True(t, list[i].Rate.Contains(list[i].Rate.Mean))
			ratio := (list[i].Rate.Hi - list[i].Rate.Lo) / (2 * 1.96 * s.Rate.SE)
			least, most = min(least, ratio), max(most, ratio)
		}
		return least, most
	}
	least, most := wider(90)
	assert.Greater(t, least, 0.98)
	assert.Less(t, most, 1.1)
	least, _ = wider(6)
	assert.Greater(t, least, 1.1)
}

// The same seed gives the same intervals; another moves their ends by a few percent of
// the width.
func TestIntegrateSeed(t *testing.T) {
	m, err := Fit(simulated(6, false, 3), Options{})
	require.NoError(t, err)
	var all [3][]Drawn
	for i, seed := range []uint64{1, 1, 2} {
		all[i], err = m.Integrate(lineOfGroup, 0.95, seed)
		require.NoError(t, err)
	}
	assert.Equal(t, all[0], all[1])
	for i, a := range all[0] {
		b := all[2][i]
		width := a.Rate.Hi - a.Rate.Lo
		assert.NotEqual(t, a.Rate.Lo, b.Rate.Lo)
		assert.InDelta(t, a.Rate.Lo, b.Rate.Lo, 0.1*width)
		assert.InDelta(t, a.Rate.Hi, b.Rate.Hi, 0.1*width)
	}
}

// Two variances: the same integral over a grid of both standard deviations.
func TestIntegrateGrid(t *testing.T) {
	m, err := Fit(simulated(6, false, 3), Options{Random: InterceptOnly})
	require.NoError(t, err)
	list, err := m.Integrate(lineOfGroup, 0.95, 1)
	require.NoError(t, err)
	b := m.whole()
	targets := m.targets(lineOfGroup)
	const side = 60
	all := make([]moments, 2*6*side*side)
	logs := make([]float64, side*side)
	for i := range side * side {
		sd := []float64{4 * (float64(i/side) + 0.5) / side, 0.5 + 1.5*(float64(i%side)+0.5)/side} // of the residual SD
		nat := make([]float64, classPart+1)
		nat[hipPart], nat[classPart] = sd[0]*sd[0], sd[1]*sd[1]
		s := b.eval(nat, false)
		logs[i] = -s.dev / 2
		m.lines(b, s, targets, all[12*i:12*i+12])
	}
	w := weights(logs)
	for h, got := range list {
		want := mixture(all[2*h:], w, 12, 0.95) // intercepts: rates are the groups' here
		width := want.Hi - want.Lo
		assert.InDelta(t, want.Mean, got.Intercept.Mean, 0.02*width)
		assert.InDelta(t, want.Lo, got.Intercept.Lo, 0.04*width)
		assert.InDelta(t, want.Hi, got.Intercept.Hi, 0.04*width)
	}
}

// The gradient in logs against differences, and there and back.
func TestLogs(t *testing.T) {
	d := erring(t, byGroup)
	o := Options{PatientSlope: true}
	s, err := newSums(d, o)
	require.NoError(t, err)
	b, err := newBlocks(s, d, o, 0.07)
	require.NoError(t, err)
	x := []float64{0.3, 0.4, -0.5, -0.2, -0.6, -0.8, -0.7, -0.1, 0.2}
	require.Len(t, x, len(b.parts.active()))
	for i, v := range b.toLogs(b.fromLogs(x)) {
		assert.InDelta(t, x[i], v, 1e-12)
	}
	grad := b.eval(b.fromLogs(x), false).grad
	for i, c := range b.logChain(x) {
		up, down := append([]float64(nil), x...), append([]float64(nil), x...)
		up[i] += 1e-5
		down[i] -= 1e-5
		var g float64
		for j, v := range c {
			g += v * grad[j]
		}
		near(t, (b.eval(b.fromLogs(up), false).dev-b.eval(b.fromLogs(down), false).dev)/2e-5, g, 1e-5, "gradient")
		near(t, (b.prior(up)-b.prior(down))/2e-5, b.priorGradient(x)[i], 1e-7, "gradient of the prior")
	}
}

// A mixture of two normal distributions: quantiles by R 4.2.2, uniroot of
// 0.3 pnorm(x, 0, 1) + 0.7 pnorm(x, 2, 0.5).
func TestMixture(t *testing.T) {
	p := mixture([]moments{{0, 1}, {}, {2, 0.5}, {}}, []float64{0.3, 0.7}, 2, 0.9)
	assert.InDelta(t, 1.4, p.Mean, 1e-12)
	assert.InDelta(t, -0.9674216, p.Lo, 1e-5)
	assert.InDelta(t, 2.7375158, p.Hi, 1e-5)
	assert.InDelta(t, 1.1467345, p.SD, 1e-5)
}
