package session

import (
	"context"
	"image"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// A scan whose resolution does not fit is found without it, and that is said; with another
// diameter the resolution is asked again.
func TestScanFoundWithoutItsResolution(t *testing.T) {
	scene := phantom.Plain(measure.Right).Around(measure.Right, 100)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	const mm = 25.4 / 300
	b := newBench(t)
	b.cfg.Open = func(path string) (*dicomio.Film, error) {
		return source.Ready(&dicomio.Film{Path: path, SHA256: path, Format: "TIFF", Pixels: img, Bits: scene.Bits, Photometric: "MONOCHROME2",
			Rows: img.Rect.Dy(), Columns: img.Rect.Dx(), Geometry: dicomio.Geometry{Scan: [2]float64{mm, mm}}})
	}
	var asked []float64
	b.cfg.Detect = func(ctx context.Context, film *image.Gray16, opt find.Options) ([]measure.Hip, error) {
		asked = append(asked, opt.Spacing)
		return find.Hips(ctx, film, opt)
	}
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-02-01.tif")})
	b.drain()
	patient := hip()
	patient.Side, patient.Implant.HeadMM = measure.Right, 28
	require.NoError(t, b.SetHip(patient))
	b.drain()
	film := b.strip.Selected()
	require.Equal(t, Proposed, film.State(), study.NoteWords(film.Reason))
	require.Equal(t, []float64{mm, 0}, asked)
	require.Zero(t, film.Imager)
	require.Contains(t, study.Texts(b.Numbers(film).Warnings),
		"resolution of the TIFF of 300 dpi (0.085 mm per pixel) does not fit a head of that diameter, and without it one was found: it is taken for a program's default and not used")
	b.work.detect(film)
	b.drain()
	require.Equal(t, []float64{mm, 0, mm, 0}, asked)
}
