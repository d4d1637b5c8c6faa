package study

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An error of the scale turns the line without leaving residuals: readings on
// an exact line still have a rate no surer than their scale.
func TestScaleWidensTheRate(t *testing.T) {
	f, why := fitSteady([]Point{{2, 0.5, 0.01}, {5, 1.1, 0.01}, {9, 1.9, 0.01}}, 0.01, false)
	require.Empty(t, why)
	require.InDelta(t, 0, f.SE, 1e-12)
	f.carryScale(0.01)
	assert.InDelta(t, 0.2*0.01, f.SE, 1e-12)
	assert.InDelta(t, 0.2*(1-0.0196), f.Lo95, 1e-5)
	assert.InDelta(t, 0.2*(1+0.0196), f.Hi95, 1e-5)
	assert.InDelta(t, 0.1*0.0196, f.BeddingHi95-f.BeddingIn, 1e-5)

	before := *f
	f.carryScale(0)
	assert.InDelta(t, before.Hi95, f.Hi95, 1e-15)
	assert.False(t, math.IsNaN(f.Lo95))
}
