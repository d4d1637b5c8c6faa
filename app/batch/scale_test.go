package batch

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// A distance in centimetres changes no reading: it is named, and the film is read as one
// that states none. A factor that the head contradicts is told.
func TestScaleInOtherUnits(t *testing.T) {
	scene := phantom.Plain(measure.Right)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	offset := func(g dicomio.Geometry) (measure.Vector, []string) {
		g.Imager = [2]float64{scene.Spacing, scene.Spacing}
		path := filepath.Join(t.TempDir(), "a.dcm")
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: scene.Bits, Photometric: "MONOCHROME2", View: "AP", Geometry: g}))
		ms, err := Measure(t.Context(), []string{path}, MeasureOptions{HeadMM: 28, Side: measure.Right}, nil)
		require.NoError(t, err)
		require.Len(t, ms, 1)
		require.Equal(t, study.Measured, ms[0].Status)
		return ms[0].Reading.Offset, study.Texts(ms[0].Remarks())
	}
	want, _ := offset(dicomio.Geometry{})
	for _, mm := range []float64{115, 11500, 1.15} {
		got, said := offset(dicomio.Geometry{SourceImage: mm})
		require.Equal(t, want, got, "%g", mm)
		require.Contains(t, said[0], "Distance Source to Detector (0018,1110) is ")
		require.Contains(t, said[0], "not used")
	}
	_, said := offset(dicomio.Geometry{Magnification: 1.6})
	require.Contains(t, said[0], "Estimated Radiographic Magnification Factor (0018,1114) says a magnification of 1.600")
}
