package wearfit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFirstToLast(t *testing.T) {
	for _, c := range []struct {
		name string
		t, y []float64
		want float64
	}{
		{"two films", []float64{1, 5}, []float64{0.2, 0.6}, 0.1},
		{"what lies between does not count", []float64{1, 3, 5}, []float64{0.2, 9, 0.6}, 0.1},
		{"any order", []float64{5, 3, 1}, []float64{0.6, 9, 0.2}, 0.1},
		{"double films at the end are averaged", []float64{1, 5, 5}, []float64{0.2, 0.5, 0.7}, 0.1},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := FirstToLast(c.t, c.y)
			require.NoError(t, err)
			assert.InDelta(t, c.want, got, 1e-15)
		})
	}
	_, err := FirstToLast([]float64{2, 2}, []float64{1, 2})
	require.ErrorIs(t, err, ErrEqualTimes)
	_, err = FirstToLast([]float64{2}, []float64{1})
	var few *TooFewError
	require.ErrorAs(t, err, &few)
	_, err = FirstToLast([]float64{0, 5e-324}, []float64{0, 1})
	require.ErrorIs(t, err, ErrRange)
}

// Facts of the trade as check values; common practice, no source: a
// conventional liner wearing 0.2 mm a year has lost 1, 2, 3 mm at 5, 10, 15
// years, a cross-linked one at 0.04 mm a year 1, 2, 3 mm at 25, 50, 75 years;
// 3 mm is over half of a 5-6 mm liner, and exactly half of the 6 mm one.
func TestFactsOfTheTrade(t *testing.T) {
	lost := []float64{1, 2, 3} // mm
	for _, c := range []struct {
		name  string
		rate  float64 // mm/year
		years []float64
	}{
		{"conventional", 0.2, []float64{5, 10, 15}},
		{"cross-linked", 0.04, []float64{25, 50, 75}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := FitLine(c.years, lost, nil)
			require.NoError(t, err)
			near(t, c.rate, l.Slope, 1e-12, "rate")
			assert.InDelta(t, 0, l.Intercept, 1e-12)
			o, err := FitOrigin(c.years, lost, nil)
			require.NoError(t, err)
			for i, years := range c.years {
				mm, _ := o.Mean(years)
				near(t, lost[i], mm, 1e-12, "loss")
			}
			first, err := FirstToLast(c.years, lost)
			require.NoError(t, err)
			near(t, c.rate, first, 1e-12, "first to last")
			mm, _ := l.Mean(c.years[2])
			for _, liner := range []float64{5, 5.5, 5.9} {
				assert.Greater(t, mm/liner, 0.5, "liner of %g mm", liner)
			}
			assert.InDelta(t, 0.5, mm/6, 1e-12)
		})
	}
}
