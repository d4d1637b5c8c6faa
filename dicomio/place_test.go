package dicomio

import (
	"fmt"
	"image"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// spot is the centre of mass of a film's pixels, from the corner of the first one.
func spot(f *Film) (x, y float64) {
	var sum float64
	for j := range f.Pixels.Rect.Dy() {
		for i := range f.Pixels.Rect.Dx() {
			v := float64(f.Pixels.Gray16At(i, j).Y)
			sum += v
			x += v * (float64(i) + 0.5)
			y += v * (float64(j) + 0.5)
		}
	}
	return x / sum, y / sum
}

// ways are those in which a film can lie, and one that does not tell.
var ways = [][2]string{{"L", "F"}, {"R", "F"}, {"L", "H"}, {"R", "H"}, {"F", "L"}, {"F", "R"}, {"H", "L"}, {"H", "R"}, {"", ""}}

// A spot on the film as it is looked at lies where it lies in the file, for every way in
// which a film can lie and pixels of any shape. Cubic convolution keeps centres of mass.
func TestPlaceOfASpot(t *testing.T) {
	for _, o := range ways {
		for _, mm := range [][2]float64{{0.2, 0.2}, {0.2, 0.25}, {0.3, 0.2}} {
			t.Run(fmt.Sprint(o, mm), func(t *testing.T) {
				f := oblong(40, 60, mm[0], mm[1], func(x, y float64) float64 {
					dx, dy := x/mm[1]-17, y/mm[0]-12
					return max(0, 4000-40*(dx*dx+dy*dy))
				})
				f.Orientation = o
				ready, err := f.Upright().Square()
				require.NoError(t, err)
				x, y := f.Place().Point(spot(ready))
				wantX, wantY := spot(f)
				assert.InDelta(t, wantX, x, 0.01)
				assert.InDelta(t, wantY, y, 0.01)
			})
		}
	}
}

// Corners go to corners.
func TestPlaceOfCorners(t *testing.T) {
	f := oblong(40, 60, 0.2, 0.25, func(_, _ float64) float64 { return 1 })
	f.Orientation = [2]string{"F", "R"} // rows to the feet, columns to the right
	x, y := f.Place().Point(0, 0)
	assert.Equal(t, [2]float64{0, 40}, [2]float64{x, y}, "the patient's upper right is at the lower left of the file")
	x, y = f.Place().Point(40, 75)
	assert.InDeltaSlice(t, []float64{60, 0}, []float64{x, y}, 1e-12)
	x, y = f.Place().Vector(0, 1.25)
	assert.InDeltaSlice(t, []float64{1, 0}, []float64{x, y}, 1e-12)
}

// A film that is turned and mirrored as Turn says is the upright one.
func TestTurnOfAFilm(t *testing.T) {
	seen := map[string]bool{}
	for _, o := range ways {
		f := noise(7, 5, 12)
		f.Orientation = o
		degrees, mirrored := f.Place().Turn()
		seen[fmt.Sprint(degrees, mirrored)] = true
		img := f.Pixels
		for range degrees / 90 { // the left column, from below, becomes the upper row
			w, h := img.Rect.Dx(), img.Rect.Dy()
			next := image.NewGray16(image.Rect(0, 0, h, w))
			for y := range w {
				for x := range h {
					next.SetGray16(x, y, img.Gray16At(y, h-1-x))
				}
			}
			img = next
		}
		if mirrored {
			next := image.NewGray16(img.Rect)
			for y := range img.Rect.Dy() {
				for x := range img.Rect.Dx() {
					next.SetGray16(x, y, img.Gray16At(img.Rect.Dx()-1-x, y))
				}
			}
			img = next
		}
		assert.Equal(t, f.Upright().Pixels, img, "%v", o)
	}
	assert.Len(t, seen, 8, "every way is told")
}
