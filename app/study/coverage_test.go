package study

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The simulated hips: bedding-in 0.2 mm, then 0.08 mm a year; a baseline film at
// six weeks; films at the times that studies use.
const (
	trueBedding = 0.2
	trueRate    = 0.08
	simulations = 3000 // standard error of a coverage of 95 %: 0.40 %
)

var filmYears = []int{1, 2, 3, 5, 7, 10, 12, 15, 20}

// simulated returns the measured films of one hip, each reading off by a normal
// error of standard deviation sd, with se as its stated standard error.
func simulated(rng *rand.Rand, n int, sd, se float64) []Measurement {
	h := rightHip()
	start := rng.NormFloat64() // where in the cup the head began
	ms := []Measurement{on("base", "2004-06-14", start+sd*rng.NormFloat64(), 0, se)}
	for _, years := range filmYears[:n] {
		d := h.Surgery.AddDate(years, 0, 0)
		e := start + trueBedding + trueRate*h.Years(d) + sd*rng.NormFloat64()
		ms = append(ms, on(fmt.Sprintf("%dy", years), d.Format(time.DateOnly), e, 0, se))
	}
	return ms
}

// coverage returns the shares of simulated hips whose intervals hold the truth:
// of the rate, of the bedding-in, and of the bedding-in had the baseline's own
// error been left out.
func coverage(t *testing.T, rng *rand.Rand, n int, sd float64) (rate, bedding, bare float64) {
	t.Helper()
	for range simulations {
		tr, err := NewTrend(rightHip(), simulated(rng, n, sd, sd))
		require.NoError(t, err)
		f := tr.Fit
		require.True(t, f.HasInterval && f.HasBedding)
		require.Equal(t, n, f.Line.N)
		if f.Lo95 <= trueRate && trueRate <= f.Hi95 {
			rate++
		}
		if f.BeddingLo95 <= trueBedding && trueBedding <= f.BeddingHi95 {
			bedding++
		}
		if lo, hi := f.Line.InterceptInterval(level); lo <= trueBedding && trueBedding <= hi {
			bare++
		}
	}
	return rate / simulations, bedding / simulations, bare / simulations
}

// 95 % intervals of rate and bedding-in hold the truth in 93 to 97 % of
// simulated hips, whatever the number of films and the readings' scatter; with
// two films, where the readings' standard errors are true ones.
func TestCoverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(2004, 53))
	for n := 2; n <= 9; n++ {
		for _, sd := range []float64{0.05, 0.1} {
			t.Run(fmt.Sprintf("%d films, SD %g mm", n, sd), func(t *testing.T) {
				rate, bedding, bare := coverage(t, rng, n, sd)
				t.Logf("rate %.1f %%, bedding-in %.1f %%, without the baseline's error %.1f %%", 100*rate, 100*bedding, 100*bare)
				assert.InDelta(t, 0.95, rate, 0.02)
				assert.InDelta(t, 0.95, bedding, 0.02)
				if n == 9 {
					// The baseline's error is not small: left out, an
					// interval that narrows with every film fails by far.
					assert.Less(t, bare, 0.8)
				}
			})
		}
	}
}
