package batch

import (
	"context"
	"image"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
)

// plain is a film of noise-free grey, which shows no hip.
func plain() *dicomio.Film {
	img := image.NewGray16(image.Rect(0, 0, 320, 300))
	for i := range img.Pix {
		img.Pix[i] = byte(i % 7)
	}
	return &dicomio.Film{Pixels: img, Bits: 16, Photometric: "MONOCHROME2", PatientCode: "Q7-001",
		Geometry: dicomio.Geometry{Imager: [2]float64{0.2, 0.2}}}
}

func TestMeasureTellsEveryFilm(t *testing.T) {
	dir := t.TempDir()
	good := filepath.Join(dir, "b.dcm")
	require.NoError(t, dicomio.WriteFile(good, plain()))
	bad := filepath.Join(dir, "a.dcm")
	require.NoError(t, os.WriteFile(bad, []byte("this is no film"), 0o600))
	gone := filepath.Join(dir, "gone.dcm")

	ms, err := Measure(t.Context(), []string{gone, good, bad, dir}, MeasureOptions{HeadMM: 28, Side: measure.Right}, nil)
	require.NoError(t, err)
	var got []string
	for _, m := range ms {
		require.NotEmpty(t, m.Reason)
		require.NotContains(t, study.NoteWords(m.Reason), "\n")
		got = append(got, filepath.Base(m.Film.Path)+" "+string(m.Status))
	}
	require.Equal(t, []string{"gone.dcm failed", "b.dcm refused", "a.dcm failed", "a.dcm failed", "b.dcm refused"}, got)
	require.Equal(t, ms[1].Film.Facts.SHA256, ms[1].Film.ID)
	require.Equal(t, "Q7-001", ms[1].Film.Facts.Patient)
	require.Equal(t, 320, ms[1].Film.Facts.Width)
}

func TestMeasureStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	ms, err := Measure(ctx, []string{"a.dcm"}, MeasureOptions{HeadMM: 28}, nil)
	require.ErrorIs(t, err, context.Canceled)
	require.Empty(t, ms)
}

func TestMeasureFilmRefusesPixelsThatCannotBeTrue(t *testing.T) {
	f := plain()
	f.Path, f.Geometry.Imager = "a.dcm", [2]float64{1.2, 0.1}
	ms := MeasureFilm(t.Context(), f, MeasureOptions{HeadMM: 28})
	require.Len(t, ms, 1)
	require.Equal(t, study.Failed, ms[0].Status)
	require.Equal(t, "malformed: pixels 12 times as long as wide, by spacing or aspect ratio, cannot be true", study.NoteWords(ms[0].Reason))
}

func TestDetectorSpacing(t *testing.T) {
	for _, c := range []struct {
		name string
		g    dicomio.Geometry
		want float64
	}{
		{"imager", dicomio.Geometry{Imager: [2]float64{0.15, 0.15}}, 0.15},
		{"nothing", dicomio.Geometry{}, 0},
		{"pixel, not calibrated", dicomio.Geometry{Pixel: [2]float64{0.2, 0.2}}, 0.2},
		{"pixel, calibrated for the patient", dicomio.Geometry{Pixel: [2]float64{0.13, 0.13}, PixelKind: "FIDUCIAL"}, 0},
		{"both", dicomio.Geometry{Imager: [2]float64{0.15, 0.15}, Pixel: [2]float64{0.13, 0.13}, PixelKind: "GEOMETRY"}, 0.15},
		{"scan", dicomio.Geometry{Scan: [2]float64{0.17, 0.17}}, 0.17},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, c.g.Detector()) })
	}
}

func TestFilmWarnings(t *testing.T) {
	right := measure.Hip{Side: measure.Right, Warnings: []measure.Warning{{Code: measure.Magnification, Text: "the head's size implies a magnification of 1.38"}}}
	film := func(spacing float64, side string) *dicomio.Film {
		return &dicomio.Film{View: "AP", Laterality: side, Geometry: dicomio.Geometry{Imager: [2]float64{spacing, spacing}}}
	}
	for _, c := range []struct {
		name string
		film *dicomio.Film
		want string
	}{
		{"in order", film(0.15, "R"), ""},
		{"no side", film(0.15, ""), ""},
		{"magnified too much", film(0.18, ""), "implied magnification 1.385 is outside 1.05 to 1.35: check the head diameter"},
		{"magnified too little", film(0.135, ""), "implied magnification 1.038 is outside 1.05 to 1.35: check the head diameter"},
		{"no spacing", film(0, ""), "no spacing at the detector in the file: magnification not checked"},
		{"other side", film(0.15, "L"), "the file says left, the hip measured is the right one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := []string{}
			if c.want != "" {
				want = append(want, c.want)
			}
			m := study.Measurement{Reading: measure.Reading{Scale: 0.13}}
			require.Equal(t, want, study.Texts(Warnings(c.film, right, m)))
		})
	}
}
