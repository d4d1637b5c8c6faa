package study

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An error of the scale turns the line without leaving residuals: readings on
// an exact line still have a rate no surer than their scale.
func TestScaleWidensTheRate(t *testing.T) {
	h := hipFilms{t: []float64{2, 5, 9}, y: []float64{0.5, 1.1, 1.9}, start: 1, base: baseFilm{row: -1}, scale: 0.01}
	f, why := h.steady()
	require.Empty(t, why)
	assert.InDelta(t, 0.2*0.01, f.SE, 1e-12)
	assert.InDelta(t, 0.2*(1-0.0196), f.Lo95, 1e-5)
	assert.InDelta(t, 0.2*(1+0.0196), f.Hi95, 1e-5)
	assert.InDelta(t, 0.1*0.0196, f.BeddingHi95-f.BeddingIn, 1e-5)
	h.scale = 0
	f, _ = h.steady()
	assert.InDelta(t, 0, f.Hi95-f.Lo95, 1e-12)
}
