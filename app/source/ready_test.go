package source

import (
	"image"
	"testing"

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
