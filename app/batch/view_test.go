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

// A film whose file names another view is left out until a reader says what it is; one whose
// file says nothing is read, with a warning.
func TestViewsThatEnter(t *testing.T) {
	scene := phantom.Plain(measure.Right)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	measured := func(view string, given ...Given) study.Measurement {
		path := filepath.Join(t.TempDir(), "a.dcm")
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: scene.Bits, Photometric: "MONOCHROME2", View: view,
			Geometry: dicomio.Geometry{Imager: [2]float64{scene.Spacing, scene.Spacing}}}))
		ms, err := Measure(t.Context(), []string{path}, MeasureOptions{HeadMM: 28, Side: measure.Right, Given: given}, nil)
		require.NoError(t, err)
		require.Len(t, ms, 1)
		return ms[0]
	}
	m := measured("RLO")
	require.Equal(t, study.Refused, m.Status)
	require.Equal(t, `View Position (0018,5101) says "RLO": oblique: it is left out until a reader says that it is a film of the hip`, study.NoteWords(m.Reason))
	m = measured("RLO", Given{Film: "a.dcm", View: study.AP})
	require.Equal(t, study.Measured, m.Status)
	require.Equal(t, study.AP, m.Film.View())

	m = measured("PA")
	require.Equal(t, study.AP, m.Film.View())
	said := study.Texts(m.Warnings)
	require.NotContains(t, said, study.WarningWords(study.WarnUnstated(true)))
	m = measured("")
	require.Equal(t, study.Measured, m.Status)
	require.Contains(t, study.Texts(m.Warnings), study.WarningWords(study.WarnUnstated(true)), "the whole pelvis tells the side")
}

func TestLooksAP(t *testing.T) {
	var found measure.Hip
	found.Head.R = 100
	require.True(t, looksAP(found))
	require.False(t, looksAP(measure.Hip{}), "outlines that were not found by the search")
	for _, code := range []string{measure.SideUnproven, measure.SideContradicts} {
		found.Warnings = []measure.Warning{{Code: code}}
		require.False(t, looksAP(found), code)
	}
}
