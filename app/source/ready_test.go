package source

import (
	"image"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// plain is a film of noise-free grey, which shows no hip.
func plain() *dicomio.Film {
	img := image.NewGray16(image.Rect(0, 0, 320, 300))
	for i := range img.Pix {
		img.Pix[i] = byte(i % 7)
	}
	return &dicomio.Film{Pixels: img, Bits: 16, Photometric: "MONOCHROME2",
		Geometry: dicomio.Geometry{Imager: [2]float64{0.2, 0.2}}}
}

func TestReady(t *testing.T) {
	f := plain()
	got, err := Ready(f)
	require.NoError(t, err)
	assert.Same(t, f, got)
	f.Geometry.Imager = [2]float64{0.2, 0.1}
	f.Orientation = [2]string{"R", "F"}
	got, err = Ready(f)
	require.NoError(t, err)
	assert.Equal(t, []string{
		"the file holds the film turned or mirrored: pixel coordinates are those of the upright film",
		"pixels are not square: pixel coordinates are those of the film resampled to 2 times the rows",
	}, study.NotesWords(Notes(got.Warnings)))
	assert.Empty(t, f.Warnings)
	assert.Equal(t, 2*f.Pixels.Rect.Dy(), got.Pixels.Rect.Dy())
	assert.Equal(t, f.PixelKey(), FactsOf(got).PixelKey, "the picture keeps its key, however it is shown")
	assert.NotEqual(t, f.PixelKey(), got.PixelKey())
	assert.Equal(t, f.PixelKey(), FactsOf(f).PixelKey)
}

// Padding is no part of what is searched or looked at.
func TestReadyFilmHasBlackPadding(t *testing.T) {
	f := plain()
	f.Greys.Padding = &dicomio.Padding{Low: 5, High: 70000}
	got, err := Ready(f)
	require.NoError(t, err)
	for i := 0; i < len(got.Pixels.Pix); i += 2 {
		require.LessOrEqual(t, int(got.Pixels.Pix[i])<<8|int(got.Pixels.Pix[i+1]), 4)
	}
}

// Parts that are made black are those of the file's own pixels, however the film is turned, and
// the film is still known by its picture.
func TestOpenBlack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "f.dcm")
	f := plain()
	for i := 0; i < len(f.Pixels.Pix); i += 2 {
		f.Pixels.Pix[i], f.Pixels.Pix[i+1] = 1, byte(i)
	}
	f.Orientation = [2]string{"R", "F"}
	require.NoError(t, dicomio.WriteFile(path, f))
	whole, err := Open(path, time.Time{})
	require.NoError(t, err)
	part := image.Rect(10, 20, 40, 60)
	black, err := OpenBlack(path, time.Time{}, []image.Rectangle{part})
	require.NoError(t, err)
	require.True(t, FactsOf(black).SamePicture(FactsOf(whole)))
	require.Equal(t, FactsOf(whole).PixelKey, FactsOf(black).PixelKey)
	n := 0
	for y := range whole.Pixels.Rect.Dy() {
		for x := range whole.Pixels.Rect.Dx() {
			if got := black.Pixels.Gray16At(x, y).Y; got != whole.Pixels.Gray16At(x, y).Y {
				require.Zero(t, got)
				n++
			}
		}
	}
	require.Equal(t, part.Dx()*part.Dy(), n)
}
