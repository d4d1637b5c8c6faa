package find_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// TestRingErrors compares the standard errors of a ring's centre, inclination and
// version, as its fit states them, with the departures on films of other cups,
// patients and photons.
func TestRingErrors(t *testing.T) {
	const films, headMM = 24, 28
	rng := rand.New(rand.NewPCG(2031, 7))
	names := [4]string{"inclination", "version", "centre, superior", "centre, medial"}
	var z, size [4]float64 // sums of squares
	for range films {
		s := phantom.Default()
		h := replaced(measure.Right, headMM, 46+6*rng.Float64())
		h.Cup, h.Inclination, h.Anteversion = measure.Wire, 36+14*rng.Float64(), 10+14*rng.Float64()
		s.Hips = []phantom.Hip{h}
		s.Seed, s.Patient = rng.Uint64(), rng.Uint64()
		s = s.Around(measure.Right, 105)
		patch, err := phantom.Render(s)
		require.NoError(t, err)
		truths, err := phantom.Truths(s)
		require.NoError(t, err)
		truth := truths[0]
		start := truth.Rim
		start.B += 0.1 * start.A
		o, err := find.Ring(patch, start, truth.Head, headMM)
		require.NoError(t, err)
		b := measure.Beam{SourceImage: s.SourceImage, Spacing: s.Spacing, Center: measure.Point{
			X: float64(s.Width)/2 - float64(s.Window.Min.X), Y: float64(s.Height)/2 - float64(s.Window.Min.Y),
		}}
		p, _, err := b.Rim(o.RingFit(), measure.Right, 0)
		require.NoError(t, err)
		for i, c := range [4]struct{ d, variance float64 }{
			{p.Inclination - h.Inclination, p.SE[0] * p.SE[0]}, {p.Anteversion - h.Anteversion, p.SE[1] * p.SE[1]},
			{o.Y - truth.Rim.Y, o.RingCov[1][1]}, {o.X - truth.Rim.X, o.RingCov[0][0]},
		} {
			z[i] += c.d * c.d / c.variance / films
			size[i] += c.d * c.d / films
		}
	}
	for i, name := range names {
		t.Logf("%-17s rms %.3f, %.2f of the stated error", name, math.Sqrt(size[i]), math.Sqrt(z[i]))
		assert.Greater(t, math.Sqrt(z[i]), 0.5, name)
		assert.Less(t, math.Sqrt(z[i]), 1.5, name)
	}
}
