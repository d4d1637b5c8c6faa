package batch

import (
	"encoding/binary"
	"image"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// phantomFilm is a film of a worn right hip, as its file would be read.
func phantomFilm(t *testing.T) *dicomio.Film {
	t.Helper()
	s := phantom.Default()
	hip := phantom.DefaultHip(measure.Right)
	hip.Superior, hip.Medial = 0.9, 0.3
	s.Hips = []phantom.Hip{hip}
	s = s.Around(measure.Right, 150)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	return &dicomio.Film{
		Pixels: img, Rows: img.Rect.Dy(), Columns: img.Rect.Dx(), Bits: s.Bits, Photometric: "MONOCHROME2", Modality: "DX",
		Orientation: [2]string{"L", "F"},
		Geometry:    dicomio.Geometry{Imager: [2]float64{s.Spacing, s.Spacing}, SourceImage: s.SourceImage, SourcePatient: s.SourceHip},
	}
}

// broad is the film as a detector with columns k times as broad takes it: each
// pixel holds the mean of what it covers.
func broad(f *dicomio.Film, k float64) *dicomio.Film {
	g := *f
	w, h := int(float64(f.Columns)/k), f.Rows
	g.Pixels = image.NewGray16(image.Rect(0, 0, w, h))
	for y := range h {
		row := f.Pixels.Pix[y*f.Pixels.Stride:]
		for x := range w {
			sum, from, to := 0.0, float64(x)*k, float64(x+1)*k
			for i := int(from); float64(i) < to && i < f.Columns; i++ {
				part := min(to, float64(i+1)) - max(from, float64(i))
				sum += part * float64(binary.BigEndian.Uint16(row[2*i:]))
			}
			binary.BigEndian.PutUint16(g.Pixels.Pix[y*g.Pixels.Stride+2*x:], uint16(math.Round(sum/k)))
		}
	}
	g.Columns = w
	g.Geometry.Imager[1] *= k
	return &g
}

// A film measures the same whether its pixels are square or not, and as it was
// made. The tolerance is a few of the standard errors of an offset, which are near
// 0.01 mm.
func TestOblongPixelsMeasureTheSame(t *testing.T) {
	read := func(f *dicomio.Film) study.Measurement {
		path := filepath.Join(t.TempDir(), "a.dcm")
		require.NoError(t, dicomio.WriteFile(path, f))
		return measureOne(t, path)
	}
	f := phantomFilm(t)
	square := read(f)
	for name, oblong := range map[string]*dicomio.Film{"broad": broad(f, 1.25), "high, lying": lying(broad(f, 1.25))} {
		t.Run(name, func(t *testing.T) {
			got := read(oblong)
			a, b := square.Reading, got.Reading
			assert.InDelta(t, a.Offset.Superior, b.Offset.Superior, 0.03)
			assert.InDelta(t, a.Offset.Medial, b.Offset.Medial, 0.03)
			assert.InDelta(t, a.Scale, b.Scale, 0.002*a.Scale)
			assert.InDelta(t, square.Head.X, got.Head.X, 0.3)
			assert.InDelta(t, square.Film.Facts.SpacingMM, got.Film.Facts.SpacingMM, 1e-9)
			t.Logf("superior %+.4f, medial %+.4f mm; %.4f, %.4f of square pixels", b.Offset.Superior, b.Offset.Medial, a.Offset.Superior, a.Offset.Medial)
		})
	}
}

// lying is an upright film with its rows and columns exchanged.
func lying(f *dicomio.Film) *dicomio.Film {
	g := *f
	g.Orientation = [2]string{"F", "L"}
	g = *g.Upright()
	g.Orientation = [2]string{"F", "L"}
	return &g
}
