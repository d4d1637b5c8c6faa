package find_test

import (
	"context"
	"fmt"
	"image"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// The two lines of a ring are well apart, nearly merged, and one.
func TestHipsRing(t *testing.T) {
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
			patch, err := phantom.Render(s)
			require.NoError(t, err)
			truths, err := phantom.Truths(s)
			require.NoError(t, err)
			hips, err := find.Hips(context.Background(), patch, find.Options{HeadMM: c.head, Spacing: s.Spacing, Side: measure.Right})
			require.NoError(t, err)
			require.Len(t, hips, 1)
			cup, truth := hips[0].Cup, truths[0].Rim
			mm := c.head / (2 * truths[0].Head.R)
			assert.Equal(t, measure.Wire, hips[0].CupKind)
			assert.Less(t, mm*math.Hypot(cup.X-truth.X, cup.Y-truth.Y), 0.12, "centre, mm")
			assert.InDelta(t, mm*truth.A, cup.R*mm, 0.6, "radius, mm")

			assert.Greater(t, cup.Contrast, 3.0, "a line stands out from noise")
			assert.Zero(t, cup.Clipped)
		})
	}
}

// ringFilm renders a cemented cup and finds it.
func ringFilm(t testing.TB, head, ring, version float64) (*image.Gray16, measure.Hip) {
	s := phantom.Default()
	h := replaced(measure.Right, head, ring)
	h.Cup, h.Anteversion = measure.Wire, version
	s.Hips = []phantom.Hip{h}
	s.Seed, s.Patient = 5, 4
	s = s.Around(measure.Right, 150)
	patch, err := phantom.Render(s)
	require.NoError(t, err)
	hips, err := find.Hips(context.Background(), patch, find.Options{HeadMM: head, Spacing: s.Spacing, Side: measure.Right})
	require.NoError(t, err)
	require.Len(t, hips, 1)
	require.Equal(t, measure.Wire, hips[0].CupKind)
	return patch, hips[0]
}

func TestRing(t *testing.T) {
	for _, c := range []struct {
		name                string
		head, ring, version float64
	}{
		{"open", 28, 50, 22},
		{"thin", 28, 46, 10},
		{"edge-on", 32, 52, 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			patch, hip := ringFilm(t, c.head, c.ring, c.version)
			ring, px := hip.Cup.Ring, 2*hip.Head.R/c.head // px per mm
			near := func(start measure.Ellipse, tolerance float64, what string) {
				o, err := find.Ring(patch, start, hip.Head.Circle, c.head)
				require.NoError(t, err, what)
				// The ends of a ring seen edge-on are not known as well.
				cov := hip.Cup.RingCov
				tolerance = max(tolerance, math.Sqrt(cov[0][0]+cov[1][1]+cov[2][2])/px)
				assert.Less(t, math.Hypot(o.Ring.X-ring.X, o.Ring.Y-ring.Y)/px, tolerance, "%s: centre, mm", what)
				assert.InDelta(t, ring.A/px, o.Ring.A/px, tolerance, "%s: long half-axis, mm", what)
				assert.InDelta(t, ring.B/px, o.Ring.B/px, 2*tolerance, "%s: short half-axis, mm", what)
			}
			// A descent ends within 0.004 cells of some 3 px, but where the picture of
			// the ring changes by a cell.
			near(ring, 0.01, "where Detect found it")
			for turn := 0.0; turn < 360; turn += 45 {
				sin, cos := math.Sincos(turn * math.Pi / 180)
				e := ring
				e.X, e.Y = e.X+3*px*cos, e.Y+3*px*sin
				near(e, 0.02, fmt.Sprintf("3 mm towards %.0f degrees", turn))
			}
			e := ring
			e.A, e.B, e.Angle = e.A+2*px, e.B*(e.A+2*px)/e.A, e.Angle+5-180
			near(e, 0.02, "2 mm larger and turned")
		})
	}
}

func TestRingRefuses(t *testing.T) {
	patch, hip := ringFilm(t, 28, 50, 22)
	ring, head := hip.Cup.Ring, hip.Head.Circle
	_, err := find.Ring(patch, ring, head, 0)
	assert.EqualError(t, err, "measure: head diameter of 0 mm must be positive")
	for name, e := range map[string]measure.Ellipse{
		"not finite":          {X: math.NaN(), Y: ring.Y, A: ring.A, B: ring.B},
		"far from any ring":   {X: ring.X + 3*ring.A, Y: ring.Y, A: ring.A, B: ring.B},
		"as small as a point": {X: ring.X, Y: ring.Y},
		"off the film":        {X: -1e6, Y: 1e9, A: ring.A, B: ring.B},
	} {
		_, err := find.Ring(patch, e, head, 28)
		assert.ErrorIs(t, err, find.ErrNoOutline, name)
	}
	_, err = find.Ring(image.NewGray16(patch.Bounds()), ring, head, 28)
	assert.ErrorIs(t, err, find.ErrNoOutline, "nothing on the film")
	_, err = find.Ring(image.NewGray16(image.Rect(0, 0, 1, 9)), ring, head, 28)
	assert.ErrorIs(t, err, find.ErrNoOutline, "hardly a film")
}

func BenchmarkRing(b *testing.B) {
	patch, hip := ringFilm(b, 28, 50, 14)
	for _, c := range []struct {
		name string
		mm   float64
	}{{"in place", 0}, {"3 mm off", 3}} {
		b.Run(c.name, func(b *testing.B) {
			start := hip.Cup.Ring
			start.X += c.mm * 2 * hip.Head.R / 28
			for b.Loop() {
				if _, err := find.Ring(patch, start, hip.Head.Circle, 28); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// What bounds a cemented cup is not its marker.
func TestRefinePrefersMarker(t *testing.T) {
	patch, hip := ringFilm(t, 28, 50, 14)
	start := hip.Cup.Circle
	start.R *= 1.1 // the cement's edge
	o, err := find.Refine(patch, start, measure.Cup)
	require.NoError(t, err)
	assert.InDelta(t, hip.Cup.Ring.A, o.Ring.A, 0.01*hip.Cup.Ring.A)
}

// A ring of which a large head leaves little to see is told of.
func TestHipsRingPartial(t *testing.T) {
	for _, c := range []struct {
		name       string
		head, ring float64
		told       bool
	}{
		{"thin cup", 36, 46, true},
		{"thick cup", 28, 50, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, hip := ringFilm(t, c.head, c.ring, 12)
			partial := func(w measure.Warning) bool { return w.Code == measure.RingPartial }
			assert.Equal(t, c.told, slices.ContainsFunc(hip.Warnings, partial))
		})
	}
}
