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

// departures are differences from the truth, mm, with their stated standard errors.
type departures struct{ d, se []float64 }

func (e *departures) add(d, se float64) { e.d, e.se = append(e.d, d), append(e.se, se) }

// summary returns the bias, the root mean square and the share of the stated
// 95 % intervals that hold the truth.
func (e *departures) summary() (bias, rms, held float64) {
	n := float64(len(e.d))
	for i, d := range e.d {
		bias += d / n
		rms += d * d / n
		if math.Abs(d) <= 1.96*e.se[i] {
			held += 1 / n
		}
	}
	return bias, math.Sqrt(rms), held
}

// drawHip draws a film and its hip: any spacing, magnification, build, dose,
// scatter, blur, head and titanium shell.
func drawHip(rng *rand.Rand) (phantom.Scene, phantom.Hip) {
	s := phantom.Default()
	s.Spacing = 0.1 + 0.1*rng.Float64()
	s.Width, s.Height = int(426/s.Spacing), int(355/s.Spacing)
	s.SourceHip = s.SourceImage / (1.12 + 0.1*rng.Float64())
	s.Patient, s.BodyMM = rng.Uint64(), 190+50*rng.Float64()
	s.Scatter, s.BlurMM = 0.1+0.2*rng.Float64(), 0.2+0.2*rng.Float64()
	s.Dose = 60000 * math.Exp(0.5*rng.NormFloat64())
	h := phantom.DefaultHip([]measure.Side{measure.Right, measure.Left}[rng.IntN(2)])
	h.HeadMM = []float64{22, 28, 32, 36, 40}[rng.IntN(5)]
	least := max(46, h.HeadMM+14)
	h.ShellMM = math.Round(least + (60-least)*rng.Float64())
	h.Inclination, h.Anteversion = 35+15*rng.Float64(), 5+20*rng.Float64()
	h.Screws, h.Holes = rng.IntN(3), rng.IntN(2) == 0
	return s, h
}

// Outlines of rendered films against the exact silhouettes. Run with -v for the
// figures.
func TestAccuracy(t *testing.T) {
	hips := 40
	if testing.Short() {
		hips = 6
	}
	rng := rand.New(rand.NewPCG(77, 1))
	var head, cup, offset, penetration departures
	for range hips {
		s, h := drawHip(rng)
		var base, base0 measure.Vector
		for patch := range 2 {
			if patch > 0 {
				h.Superior, h.Medial = 1.5*rng.Float64(), -0.3+rng.Float64()
			}
			s.Seed = rng.Uint64()
			s.ShiftX, s.ShiftY = 8*rng.NormFloat64(), 8*rng.NormFloat64()
			s.Tilt, s.Rotation, s.Roll = 2*rng.NormFloat64(), 2*rng.NormFloat64(), rng.NormFloat64()
			s.Hips = []phantom.Hip{h}
			r, truth := outlined(t, s.Around(h.Side, 100), h, &head, &cup)
			add := func(e *departures, v, want measure.Vector) {
				a, b := v.SE()
				e.add(v.Superior-want.Superior, a)
				e.add(v.Medial-want.Medial, b)
			}
			add(&offset, r.Offset, truth.Offset)
			if patch == 0 {
				base, base0 = r.Offset, truth.Offset
				continue
			}
			add(&penetration, r.Offset.Sub(base), truth.Offset.Sub(base0))
		}
	}
	for _, c := range []struct {
		name      string
		e         departures
		bias, rms float64 // largest, mm
		held      float64 // least
	}{
		{"radius of the head", head, 0.012, 0.02, 0.8},
		{"radius of the shell", cup, 0.012, 0.02, 0.8},
		{"offset, per axis", offset, 0.025, 0.03, 0.85},
		{"penetration, per axis", penetration, 0.015, 0.025, 0.85},
	} {
		bias, rms, held := c.e.summary()
		t.Logf("%-22s n %3d bias %7.4f rms %6.4f mm, held %.3f", c.name, len(c.e.d), bias, rms, held)
		assert.Less(t, math.Abs(bias), c.bias, c.name)
		assert.Less(t, rms, c.rms, c.name)
		assert.GreaterOrEqual(t, held, c.held, c.name)
	}
}

// outlined renders s, outlines its hip from a start that is some px off, and
// adds the departures of the radii.
func outlined(t *testing.T, s phantom.Scene, h phantom.Hip, head, cup *departures) (measure.Reading, phantom.Truth) {
	img, err := phantom.Render(s)
	require.NoError(t, err)
	truths, err := phantom.Truths(s)
	require.NoError(t, err)
	truth := truths[0]
	mm := h.HeadMM / (2 * truth.Head.R)
	one := func(c measure.Circle, part measure.Part, e *departures) measure.Outline {
		o, err := find.Refine(img, measure.Circle{X: c.X + 5, Y: c.Y - 4, R: c.R + 2}, part)
		require.NoError(t, err)
		e.add((o.R-c.R)*mm, math.Sqrt(o.Cov[2][2])*mm)
		return o
	}
	a, b := one(truth.Head, measure.Head, head), one(truth.Cup, measure.Cup, cup)
	r, err := measure.Read(a.CircleFit, b.CircleFit, h.HeadMM, h.Side, 0)
	require.NoError(t, err)
	return r, truth
}
