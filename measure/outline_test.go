package measure_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// disc draws a bright disc with an edge blurred by sigma px, the exact
// convolution of a straight step with a Gaussian, and adds noise.
func disc(w, h int, c measure.Circle, low, high, sigma, noise float64, seed uint64) *image.Gray16 {
	rng := rand.New(rand.NewPCG(seed, 1))
	img := image.NewGray16(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			d := c.Distance(measure.Point{X: float64(x) + 0.5, Y: float64(y) + 0.5})
			v := low + (high-low)*0.5*math.Erfc(d/(sigma*math.Sqrt2)) + noise*rng.NormFloat64()
			img.SetGray16(x, y, color.Gray16{Y: uint16(max(0, min(v, 65535)))})
		}
	}
	return img
}

func TestRefineDisc(t *testing.T) {
	want := measure.Circle{X: 201.3, Y: 188.8, R: 95.4}
	for _, c := range []struct {
		name         string
		noise        float64
		dx, dy, dr   float64
		part         measure.Part
		center, size float64 // tolerance, px
	}{
		// A straight step seen from a circle of radius R is placed sigma²/(2R)
		// = 0.005 px too far in.
		{"clean", 0, 6, -5, 4, measure.Head, 0.005, 0.02},
		{"noisy", 800, -12, 9, -6, measure.Head, 0.06, 0.05},
		{"far", 400, 15, 14, 10, measure.Head, 0.04, 0.04},
		{"as a cup", 400, 6, -8, 5, measure.Cup, 0.04, 0.04},
	} {
		t.Run(c.name, func(t *testing.T) {
			img := disc(400, 400, want, 15000, 30000, 1.2, c.noise, 3)
			start := measure.Circle{X: want.X + c.dx, Y: want.Y + c.dy, R: want.R + c.dr}
			o, err := measure.Refine(img, start, c.part)
			require.NoError(t, err)
			t.Logf("dx %.4f dy %.4f dr %.4f rms %.3f kept %d", o.X-want.X, o.Y-want.Y, o.R-want.R, o.RMS, len(o.Points))
			assert.InDelta(t, want.X, o.X, c.center)
			assert.InDelta(t, want.Y, o.Y, c.center)
			assert.InDelta(t, want.R, o.R, c.size)
			assert.InDelta(t, 360, o.Arc, 1)
		})
	}
}

func BenchmarkRefine(b *testing.B) {
	want := measure.Circle{X: 301.3, Y: 288.8, R: 110}
	img := disc(600, 600, want, 15000, 30000, 1.2, 500, 3)
	for b.Loop() {
		if _, err := measure.Refine(img, measure.Circle{X: 310, Y: 280, R: 114}, measure.Head); err != nil {
			b.Fatal(err)
		}
	}
}
