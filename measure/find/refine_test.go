package find_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
)

// disc draws the shadow of a metal ball of 15 mm radius on a film that shows the
// logarithm of intensity, from the levels low to high, with a blur of sigma px
// and noise. A ray x mm inside the outline runs 2 sqrt(2 R x) through the ball,
// which weakens it by 0.73 per mm; a fifth of the signal is scatter.
func disc(w, h int, c measure.Circle, low, high, sigma, noise float64, seed uint64) *image.Gray16 {
	const fine = 20 // steps per px
	depth := c.R / 15 / (8 * 15 * 0.73 * 0.73)
	passing := func(d float64) float64 { // d px outside
		return 0.2 + 0.8*math.Exp(-math.Sqrt(max(0, -d)/depth))
	}
	level := make([]float64, 60*fine) // from 40 px inside to 20 outside
	// Films bend over towards metal.
	tone := func(i float64) float64 { y := math.Log(i / 0.2); return y - 0.2*(1-math.Exp(-2*y)) }
	for i := range level {
		var sum, total float64
		for k := -4 * fine * sigma; k <= 4*fine*sigma; k++ {
			g := math.Exp(-k * k / (2 * sigma * sigma * fine * fine))
			sum += g * passing((float64(i)+k+0.5)/fine-40)
			total += g
		}
		level[i] = high - (high-low)*tone(sum/total)/tone(1)
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	img := image.NewGray16(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			d := c.Distance(measure.Point{X: float64(x) + 0.5, Y: float64(y) + 0.5})
			v := level[int(max(0, min((d+40)*fine, float64(len(level)-1))))] + noise*rng.NormFloat64()
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
		// One contrast all around does not tell the film's tone, so the radius
		// keeps a part of the blur; as a cup the metal is taken for titanium.
		{"clean", 0, 6, -5, 4, measure.Head, 0.005, 0.2},
		{"noisy", 800, -12, 9, -6, measure.Head, 0.06, 0.25},
		{"far", 400, 15, 14, 10, measure.Head, 0.04, 0.25},
		{"as a cup", 400, 6, -8, 5, measure.Cup, 0.04, 0.45},
	} {
		t.Run(c.name, func(t *testing.T) {
			img := disc(400, 400, want, 15000, 30000, 1.2, c.noise, 3)
			start := measure.Circle{X: want.X + c.dx, Y: want.Y + c.dy, R: want.R + c.dr}
			o, err := find.Refine(img, start, c.part)
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
		if _, err := find.Refine(img, measure.Circle{X: 310, Y: 280, R: 114}, measure.Head); err != nil {
			b.Fatal(err)
		}
	}
}
