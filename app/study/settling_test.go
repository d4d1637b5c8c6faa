package study

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// settled are films of a hip whose bedding-in of 0.2 mm dies away with a time constant tau,
// with steady wear of 0.05 mm/year and a scatter of some 0.001 mm.
func settled(tau float64) (out []Point) {
	for i, t := range []float64{0, 0.25, 0.5, 1, 1.5, 2, 3, 5, 8} {
		mm := -0.2*math.Expm1(-t/tau) + 0.05*t
		if i > 0 {
			mm += 0.001 * math.Sin(7*float64(i))
		}
		out = append(out, Point{Years: t, MM: mm})
	}
	return out
}

// What the line takes for wear is what bedding-in after year 1 adds to its slope, by the
// true curve to a tenth.
func TestSettlingTellsWhatTheLineTakesForWear(t *testing.T) {
	for _, c := range []struct {
		tau      float64
		outlasts bool
	}{{0.15, false}, {1, true}, {2, true}} {
		h := newHipFilms("H", settled(c.tau), 1)
		s := h.settling()
		require.True(t, s.Told, "tau %g", c.tau)
		assert.InDelta(t, c.tau, s.TauYears, 0.1*c.tau+0.02)
		f, why := h.late().steady()
		require.Empty(t, why)
		assert.Equal(t, c.outlasts, s.Outlasts(f), "tau %g: %g of %g", c.tau, s.InRate, f.SE)
		if c.outlasts {
			assert.InDelta(t, f.Rate-0.05, s.InRate, 0.1*math.Abs(f.Rate-0.05)+0.001)
		}
	}
	q := FitModels("H", settled(2), FitAll, 1)
	assert.Contains(t, NoteWords(q[0].Note), "bedding-in may have outlasted year 1")
	straight := FitModels("H", []Point{{Years: 0}, {Years: 1, MM: 0.11}, {Years: 2, MM: 0.19}, {Years: 4, MM: 0.42}, {Years: 6, MM: 0.58}}, FitAll, 1)
	assert.Contains(t, NoteWords(straight[0].Note), "do not tell how long bedding-in lasted")
	assert.NotContains(t, NoteWords(FitModels("H", settled(0.15), FitAll, 1)[0].Note), "bedding-in")
}
