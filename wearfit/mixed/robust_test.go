package mixed

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// R 4.2.2: the likelihood of the multivariate t distribution with 4 degrees of freedom,
// written out and maximised by optim (BFGS, reltol 1e-15, restarted) from the fit of
// lme4.
func TestRobustAgainstR(t *testing.T) {
	for _, c := range []struct {
		file, time, value       string
		loglik                  float64
		coef, se                [2]float64
		intercept, slope, sigma float64
		least                   float64 // of the weights
	}{
		{"orthodont.csv", "age", "distance", -211.480606, [2]float64{17.3184862, 0.589851692}, [2]float64{0.629127013, 0.0586477065},
			1.77714715, 0.177505722, 0.925052145, 0.144614746},
		{"sleepstudy.csv", "Days", "Reaction", -861.990765, [2]float64{249.866157, 9.48484448}, [2]float64{7.34815521, 1.4811243},
			26.9769802, 5.49972993, 18.8440161, 0.159472947},
	} {
		r, err := FitRobust(mixedTable(t, c.file, "Subject", c.time, c.value, "", ""), Options{}, 4)
		require.NoError(t, err)
		near(t, c.loglik, r.LogLik, 1e-8, c.file)
		for j, e := range [][]float64{{1, 0}, {0, 1}} {
			near(t, c.coef[j], r.Combine(e).Value, 2e-5, c.file+" coefficient")
			near(t, c.se[j], math.Sqrt(r.Cov.At(j, j)), 5e-5, c.file+" se by the expected information")
		}
		near(t, c.intercept, r.SDIntercept, 1e-4, c.file+" sd of intercepts")
		near(t, c.slope, r.SDSlope, 1e-4, c.file+" sd of slopes")
		near(t, c.sigma, r.Sigma, 5e-5, c.file+" residual sd")
		near(t, c.least, slices.Min(r.Weights), 1e-3, c.file+" least weight")
	}
}

// A hip whose films are all wrong pulls the mixed model, not the robust one, and is
// found.
func TestRobustWild(t *testing.T) {
	d := simulated(40, false, 9)
	for i := range d.Hip {
		if d.Hip[i] == "H7" {
			d.Value[i] += 0.5 * d.Time[i]
		}
	}
	m, err := Fit(d, Options{})
	require.NoError(t, err)
	r, err := FitRobust(d, Options{}, 4)
	require.NoError(t, err)
	// The difference of the groups' rates is -0.07; H7 is of the second.
	assert.Greater(t, m.Coef[3], -0.055)
	assert.InDelta(t, -0.07, r.Coef[3], 0.015)
	assert.Less(t, r.SDSlope, m.SDSlope/2)
	for i, w := range r.Weights {
		assert.Equal(t, r.HipNames[i] == "H7", w < 0.2, "%s weighs %.2f", r.HipNames[i], w)
	}
}

// nlme 3.1-162: lme(penetration ~ years, random = ~ years | hip, weights =
// varFixed(~ I(se^2))) of errors.csv, sigma and intervals().
func TestCompareErrors(t *testing.T) {
	d := erring(t, yearsOnly)
	d.Patient, d.BaseSE, d.Film = nil, nil, nil
	r, err := CompareErrors(d, Options{}, 0.95)
	require.NoError(t, err)
	near(t, 1.49660849, r.Ratio, 1e-5, "ratio")
	near(t, 1.318263, r.Interval.Lo, 0.02, "lower, there by the normal distribution of its logarithm")
	near(t, 1.699082, r.Interval.Hi, 0.02, "upper")
	assert.Less(t, r.P, 0.001)
	d.SE[4] = 0
	_, err = CompareErrors(d, Options{}, 0.95)
	require.ErrorIs(t, err, ErrSE)
	_, err = CompareErrors(simulated(4, false, 1), Options{}, 0.95)
	require.ErrorIs(t, err, ErrSE)
}

// Standardised, the residuals have a variance of 1, and a wild film stands out in them.
func TestDiagnose(t *testing.T) {
	d := simulated(80, false, 2)
	d.Value[17] += 0.6 // ten residual standard deviations
	m, err := Fit(d, Options{})
	require.NoError(t, err)
	films, hips := m.Diagnose()
	require.Len(t, films, m.N)
	require.Len(t, hips, 80)
	residuals := m.Residuals()
	var square float64
	for i, f := range films {
		assert.InDelta(t, d.Value[i], f.Fitted+f.Residual, 1e-12)
		assert.InDelta(t, residuals[i], f.Residual, 1e-12)
		square += f.Standard * f.Standard / float64(m.N)
		if i != 17 {
			assert.Less(t, f.Standard, 4.5)
		}
	}
	assert.Greater(t, films[17].Standard, 5.0)
	assert.InDelta(t, 1, square, 0.05)
	var rate float64
	quantiles := make([]float64, 0, 80)
	for _, h := range hips {
		rate += h.Rate * h.Rate / 80
		quantiles = append(quantiles, h.RateQuantile)
	}
	assert.InDelta(t, 1, rate, 0.1)
	slices.Sort(quantiles)
	// R 4.2.2: qnorm(0.5 / 80)
	assert.InDelta(t, -2.4977, quantiles[0], 1e-4)
	assert.InDelta(t, 2.4977, quantiles[79], 1e-4)
	best := slices.MaxFunc(hips, func(a, b HipResidual) int {
		if a.Rate < b.Rate {
			return -1
		}
		return 1
	})
	assert.InDelta(t, 2.4977, best.RateQuantile, 1e-4)
}
