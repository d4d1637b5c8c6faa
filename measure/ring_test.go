package measure_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// The two lines of a ring are well apart, nearly merged, and one.
func TestDetectRing(t *testing.T) {
	for _, c := range []struct {
		name                string
		head, ring, version float64
	}{
		{"open", 28, 50, 22},
		{"thin", 28, 46, 14},
		{"edge-on", 28, 48, 5},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := phantom.Default()
			h := replaced(measure.Right, c.head, c.ring)
			h.Cup, h.Anteversion, h.WireMM = measure.Wire, c.version, 1
			s.Hips = []phantom.Hip{h}
			s.Seed, s.Patient = 5, 4
			s = s.Around(measure.Right, 130)
			film, err := phantom.Render(s)
			require.NoError(t, err)
			truths, err := phantom.Truths(s)
			require.NoError(t, err)
			hips, err := measure.Detect(context.Background(), film, measure.Options{HeadMM: c.head, Spacing: s.Spacing, Side: measure.Right})
			require.NoError(t, err)
			require.Len(t, hips, 1)
			cup, truth := hips[0].Cup, truths[0].Cup
			mm := c.head / (2 * truths[0].Head.R)
			assert.Equal(t, measure.Wire, hips[0].CupKind)
			assert.Less(t, mm*math.Hypot(cup.X-truth.X, cup.Y-truth.Y), 0.12, "centre, mm")
			assert.InDelta(t, mm*truth.R, cup.R*mm, 0.6, "radius, mm")

			assert.Greater(t, cup.Contrast, 3.0, "a line stands out from noise")
			assert.Zero(t, cup.Clipped)
		})
	}
}

// What bounds a cemented cup is not its marker: without a wire there is no cup.
func TestRefineLeavesCementAlone(t *testing.T) {
	s := phantom.Default()
	h := replaced(measure.Right, 28, 48)
	h.Cup, h.WireMM = measure.Wire, 0.01
	s.Hips = []phantom.Hip{h}
	s = s.Around(measure.Right, 130)
	film, err := phantom.Render(s)
	require.NoError(t, err)
	truths, err := phantom.Truths(s)
	require.NoError(t, err)
	_, err = measure.Refine(film, truths[0].Cup, measure.Cup)
	assert.ErrorIs(t, err, measure.ErrNoOutline)
}
