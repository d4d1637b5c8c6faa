package find_test

import (
	"image"
	"image/color"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
)

// clippedAt returns img with levels above top cut off.
func clippedAt(img *image.Gray16, top uint16) *image.Gray16 {
	out := image.NewGray16(img.Bounds())
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			out.SetGray16(x, y, color.Gray16{Y: min(top, img.Gray16At(x, y).Y)})
		}
	}
	return out
}

// The step of 15 000 levels is seen but for what the path through the ball lacks
// near its outline; twice the noise is half the contrast.
func TestOutlineShows(t *testing.T) {
	c := measure.Circle{X: 201.3, Y: 188.8, R: 95.4}
	for _, k := range []struct {
		name          string
		noise         float64
		top           uint16
		least, most   float64 // contrast
		clipped, slip float64
	}{
		{"little noise", 400, 65535, 12000.0 / 400, 15000.0 / 400 * 1.05, 0, 0},
		{"twice the noise", 800, 65535, 12000.0 / 800, 15000.0 / 800 * 1.05, 0, 0},
		{"clipped", 400, 24000, 8000.0 / 400, 9000.0 / 400 * 1.1, 1, 0.02},
	} {
		t.Run(k.name, func(t *testing.T) {
			img := clippedAt(disc(400, 400, c, 15000, 30000, 1.2, k.noise, 3), k.top)
			o, err := find.Refine(img, c, measure.Head)
			require.NoError(t, err)
			t.Logf("contrast %.2f clipped %.3f", o.Contrast, o.Clipped)
			assert.InDelta(t, (k.least+k.most)/2, o.Contrast, (k.most-k.least)/2)
			assert.InDelta(t, k.clipped, o.Clipped, k.slip)

			bare := o
			bare.Contrast, bare.Clipped = 0, 0
			assert.Equal(t, o, find.Shown(img, bare), "told again from the film")
		})
	}
}
