package batch

import (
	"image"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// A film that the file holds mirrored, rows running to the patient's right, is
// measured as the same film upright.
func TestMeasureBringsFilmsUpright(t *testing.T) {
	scene := phantom.Plain(measure.Right).Around(measure.Right, 70)
	upright, err := phantom.Render(scene)
	require.NoError(t, err)
	b := upright.Bounds()
	mirrored := image.NewGray16(b)
	for y := range b.Dy() {
		for x := range b.Dx() {
			mirrored.SetGray16(x, y, upright.Gray16At(b.Dx()-1-x, y))
		}
	}
	dir := t.TempDir()
	write := func(name, rows string, pixels *image.Gray16) string {
		path := filepath.Join(dir, name)
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{
			Pixels: pixels, Bits: scene.Bits, Photometric: "MONOCHROME2", Laterality: "R",
			Orientation: [2]string{rows, "F"},
			Geometry:    dicomio.Geometry{Imager: [2]float64{scene.Spacing, scene.Spacing}},
		}))
		return path
	}
	ms, err := Measure(t.Context(), []string{write("as-seen.dcm", "L", upright), write("mirrored.dcm", "R", mirrored)},
		MeasureOptions{HeadMM: phantom.DefaultHip(measure.Right).HeadMM, Side: measure.Right}, nil)
	require.NoError(t, err)
	require.Len(t, ms, 2)
	require.Equal(t, study.Measured, ms[0].Status, study.NoteWords(ms[0].Reason))
	require.Equal(t, study.Measured, ms[1].Status, ms[1].Reason)
	require.Equal(t, ms[0].Head.Circle, ms[1].Head.Circle)
	require.Equal(t, ms[0].Reading, ms[1].Reading)
	turned := "the file holds the film turned or mirrored: pixel coordinates are those of the upright film"
	require.NotContains(t, study.Texts(ms[0].Warnings), turned)
	require.Contains(t, study.Texts(ms[1].Warnings), turned)
}
