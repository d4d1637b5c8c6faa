package batch

import (
	"image"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// framed is a film in a file whose grey tells the place, with a reading of it.
func framed(t *testing.T, w, h int) study.Measurement {
	t.Helper()
	img := image.NewGray16(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.Pix[y*img.Stride+2*x] = uint8(x * 255 / w)
		}
	}
	path := filepath.Join(t.TempDir(), "a.dcm")
	require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 16, Photometric: "MONOCHROME2", View: "AP",
		Geometry: dicomio.Geometry{Imager: [2]float64{0.15, 0.15}}}))
	film, err := source.Frame(path, 1, time.Time{})
	require.NoError(t, err)
	film, err = source.Ready(film)
	require.NoError(t, err)
	m := study.Measurement{Film: study.Film{ID: "F1", Path: path, Facts: source.FactsOf(film)}, Status: study.Measured}
	m.Cup.X, m.Cup.Y, m.Cup.R = 300, 200, 100
	return m
}

func TestHipPictureIsOfTheHip(t *testing.T) {
	m := framed(t, 800, 600)
	for _, side := range []int{1000, 100} {
		got, err := HipPictures(t.Context(), []study.Measurement{m}, side)
		require.NoError(t, err)
		p := got["F1"]
		require.Equal(t, study.Pixel{X: 155, Y: 55}, p.At, "1.45 radii from the centre")
		b := p.Image.Bounds()
		require.Equal(t, min(290, side), b.Dx())
		require.InDelta(t, float64(min(290, side))/290, p.Zoom, 1e-9)
		x := b.Min.X + b.Dx()/2
		grey, _, _, _ := p.Image.At(x, b.Min.Y+b.Dy()/2).RGBA()
		there := p.At.X + (float64(x-b.Min.X)+0.5)/p.Zoom
		require.InDelta(t, there/800, float64(grey)/65535, 0.02, "what is shown is where it is said to be")
	}
	m.Cup.X = 20
	got, err := HipPictures(t.Context(), []study.Measurement{m}, 1000)
	require.NoError(t, err)
	require.Zero(t, got["F1"].At.X, "as far as the film reaches")
	require.Equal(t, int(math.Ceil(20+145)), got["F1"].Image.Bounds().Dx())
}

// A film whose file is gone, or holds another picture than was read, is not shown.
func TestHipPictureOfAnotherFileIsNone(t *testing.T) {
	m, other := framed(t, 800, 600), framed(t, 700, 600)
	gone, swapped, unread := m, m, m
	gone.Film.Path = m.Film.Path + "x"
	swapped.Film.Path = other.Film.Path
	unread.Status = study.Refused
	got, err := HipPictures(t.Context(), []study.Measurement{gone, swapped, unread}, 100)
	require.NoError(t, err)
	require.Empty(t, got)
}
