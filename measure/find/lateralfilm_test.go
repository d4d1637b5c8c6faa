package find_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// unattended returns the offset of the only hip on a film as Hips outlines it, and
// the slant of the rays. On a lateral film the hip is read as one whose medial is
// where the front is.
func unattended(t *testing.T, s phantom.Scene) (measure.Vector, measure.Slant) {
	h := s.Hips[0]
	s = s.Around(h.Side, 150)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	opt := find.Options{HeadMM: h.HeadMM, Spacing: s.Spacing, Side: h.Side}
	side := h.Side
	if s.Lateral != measure.SideUnknown {
		opt.Side, side = measure.SideUnknown, map[measure.Side]measure.Side{measure.Right: measure.Left, measure.Left: measure.Right}[side]
	}
	hips, err := find.Hips(context.Background(), img, opt)
	require.NoError(t, err)
	require.Len(t, hips, 1)
	r, err := measure.Read(hips[0].Head.CircleFit, hips[0].Cup.CircleFit, h.HeadMM, side, 0)
	require.NoError(t, err)
	b := measure.Beam{SourceImage: s.SourceImage, Spacing: s.Spacing, Center: measure.Point{
		X: float64(s.Width)/2 - float64(s.Window.Min.X), Y: float64(s.Height)/2 - float64(s.Window.Min.Y)}}
	slant, err := b.Slant(hips[0].Head.Center(), side, 0)
	require.NoError(t, err)
	return r.Offset, slant
}

// AP and cross-table lateral films of hips whose heads move in space, outlined with
// nobody looking: the movement comes back within its stated error. Run with -v for
// the figures.
func TestMovementInSpaceFromFilms(t *testing.T) {
	hips := 16
	if testing.Short() {
		hips = 3
	}
	rng := rand.New(rand.NewPCG(311, 5))
	var superior, medial, anterior, apart departures
	for range hips {
		s, h := drawHip(rng)
		obliquity := 45 * rng.Float64()
		both := func() (ap, lateral measure.Vector, slants [2]measure.Slant) {
			s := s
			s.Hips = []phantom.Hip{h}
			s.Seed, s.ShiftX, s.ShiftY = rng.Uint64(), 4*rng.NormFloat64(), 4*rng.NormFloat64()
			ap, slants[0] = unattended(t, s)
			s.Lateral, s.Obliquity = h.Side, obliquity
			s.Seed, s.ShiftX, s.ShiftY = rng.Uint64(), 4*rng.NormFloat64(), 4*rng.NormFloat64()
			lateral, slants[1] = unattended(t, s)
			return ap, lateral, slants
		}
		ap0, lateral0, _ := both()
		d := [3]float64{1.5 * rng.Float64(), -0.3 + 0.8*rng.Float64(), -0.6 + 1.2*rng.Float64()}
		h.Superior, h.Medial, h.Anterior = d[0], d[1], d[2]
		ap, lateral, slants := both()
		l := lateral.Sub(lateral0)
		got, err := measure.Combine(ap.Sub(ap0),
			measure.Lateral{Along: l.Superior, Anterior: l.Medial, Cov: l.Cov, Obliquity: obliquity}, slants[0], slants[1])
		require.NoError(t, err)
		superior.add(got.Superior-d[0], math.Sqrt(got.Cov[0][0]))
		medial.add(got.Medial-d[1], math.Sqrt(got.Cov[1][1]))
		anterior.add(got.Anterior-d[2], math.Sqrt(got.Cov[2][2]))
		apart.add(got.Disagreement, got.SEDisagreement)
	}
	for i, c := range []struct {
		name string
		e    departures
	}{{"superior", superior}, {"medial", medial}, {"anterior", anterior}, {"disagreement", apart}} {
		bias, rms, held := c.e.summary()
		var se float64
		for _, x := range c.e.se {
			se += x / float64(len(c.e.se))
		}
		t.Logf("%-12s n %3d bias %7.4f rms %6.4f mm, stated %6.4f, held %.3f", c.name, len(c.e.d), bias, rms, se, held)
		assert.Less(t, rms, [4]float64{0.02, 0.02, 0.02, 0.04}[i], c.name)
		// Films as clean as these state less than what they keep of the patient's new
		// place, some thousandths of a mm.
		for k := range c.e.se {
			c.e.se[k] = math.Hypot(c.e.se[k], 0.004)
		}
		_, _, held = c.e.summary()
		assert.GreaterOrEqual(t, held, 0.8, c.name)
	}
}
