package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A time before the operation is no answer to when a level is reached.
func TestPassage(t *testing.T) {
	x := []float64{1, 2, 3, 5, 8}
	for _, c := range []struct {
		name  string
		y     []float64
		level float64
		want  Passage
	}{
		{"rising", []float64{.21, .28, .41, .61, .88}, 1.5, Ahead},
		{"beyond it at surgery", []float64{.31, .39, .52, .71, .98}, 0.1, Passed},
		{"falling from below", []float64{.09, .08, .07, .05, .03}, 1, Never},
		{"falling from beyond", []float64{.9, .79, .72, .5, .2}, 0.5, Passed},
		{"level and below", []float64{.1, .1, .1, .1, .1}, 1, Never},
		{"level and beyond", []float64{.1, .1, .1, .1, .1}, 0.1, Passed},
		{"falling to a negative level", []float64{.09, .04, .01, -.11, -.19}, -1, Ahead},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := FitSteady(x, c.y, nil, Baseline{}, 0)
			require.NoError(t, err)
			l, got := f.Line, f.TimeTo(c.level, 0.95)
			assert.Equal(t, c.want, got.State)
			if c.want == Ahead {
				near(t, c.level, l.Intercept+l.Slope*got.At, 1e-9, "level")
				return
			}
			assert.True(t, math.IsInf(got.At, 1))
			assert.False(t, got.Beyond)
		})
	}
	d := series(t, "B")
	s, err := FitStick(d[0], d[1], nil)
	require.NoError(t, err)
	for level, want := range map[float64]Passage{1: Ahead, -1: Never} {
		assert.Equal(t, want, s.TimeTo(level, 0.95).State)
	}
}
