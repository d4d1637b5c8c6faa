package mixed

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The first ten hips of errors.csv, whether the rates of the groups differ: pbkrtest
// 0.5-2 PBmodcomp(nsim = 2000) found 42 of 2000 statistics as large, p = 0.0215, where
// chi-square says 0.01486 and Kenward-Roger (KRmodcomp) 0.03418.
func TestBootstrapRatio(t *testing.T) {
	d := erring(t, byGroup)
	n := 0
	for seen := map[string]bool{}; n < len(d.Hip) && (seen[d.Hip[n]] || len(seen) < 10); n++ {
		seen[d.Hip[n]] = true
	}
	require.Equal(t, 65, n)
	d = Data{Hip: d.Hip[:n], Time: d.Time[:n], Value: d.Value[:n], Fixed: d.Fixed, Names: d.Names}
	for j := range d.Fixed {
		d.Fixed[j] = d.Fixed[j][:n]
	}
	reml, err := Fit(d, Options{})
	require.NoError(t, err)
	k, err := NewKenward(reml)
	require.NoError(t, err)
	near(t, 0.03418, k.Estimate(3).P(0), 1e-3, "Kenward-Roger")
	larger, err := Fit(d, Options{ML: true})
	require.NoError(t, err)
	d.Fixed, d.Names = d.Fixed[:3], d.Names[:3]
	smaller, err := Fit(d, Options{ML: true})
	require.NoError(t, err)
	chi, err := LikelihoodRatio(larger, smaller)
	require.NoError(t, err)
	near(t, 0.01486, chi.P, 1e-3, "chi-square")
	b, err := BootstrapRatio(larger, smaller, 499, 1)
	require.NoError(t, err)
	assert.InDelta(t, chi.Statistic, b.Statistic, 1e-12)
	assert.InDelta(t, 0.0215, b.P, 0.015, "two standard errors of either draws")
	same, err := BootstrapRatio(larger, smaller, 499, 1)
	require.NoError(t, err)
	assert.Equal(t, b, same)
	_, err = BootstrapRatio(smaller, larger, 9, 1)
	require.ErrorIs(t, err, ErrNotNested)
}

// Drawn cohorts have the covariance of the model: the mean of r'V⁻¹r is the number of
// films.
func TestDraw(t *testing.T) {
	for name, m := range erringModels(t) {
		b := m.whole()
		var sum float64
		const draws = 40
		for i := range draws {
			b.setValues(m.draw(newRand(uint64(i))))
			for p := range len(b.first) - 1 {
				f := b.open(p, m.nat, m.beta)
				k := b.p + 1
				for j := range f.n {
					w := b.w[(f.lo+j)*k : (f.lo+j)*k+k]
					r := w[b.p]
					for c, x := range w[:b.p] {
						r -= x * m.beta[c]
					}
					sum += r * f.r[j] / draws
				}
			}
		}
		// Of 40 times 183 squares of normal deviates the mean has a standard error of
		// 3.0.
		assert.InDelta(t, float64(m.N), sum, 12, name)
		b.setValues(m.data.Value)
	}
}

// Beginning where the model ended, a fit of whole blocks finds the optimum that it finds
// from the start.
func TestAgain(t *testing.T) {
	for name, m := range erringModels(t) {
		for i := range 5 {
			y := m.draw(newRand(uint64(i)))
			got, err := m.again(y)
			require.NoError(t, err)
			d := m.data
			d.Value = y
			want, err := Fit(d, m.Options)
			require.NoError(t, err)
			assert.InDelta(t, want.LogLik, got, 1e-5, name)
		}
	}
}
