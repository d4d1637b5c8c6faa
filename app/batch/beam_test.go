package batch

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// filmed writes scenes as films of one hip, a year apart, and returns their paths
// and where the central ray met each.
func filmed(t *testing.T, scenes []phantom.Scene) (paths []string, given []Given) {
	t.Helper()
	dir := t.TempDir()
	for i, s := range scenes {
		img, err := phantom.Render(s)
		require.NoError(t, err)
		path := filepath.Join(dir, fmt.Sprintf("%d.dcm", i))
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{
			Pixels: img, Bits: s.Bits, Photometric: "MONOCHROME2", View: "AP",
			Date:     time.Date(2005+i, 1, 2, 0, 0, 0, 0, time.UTC),
			Geometry: dicomio.Geometry{Imager: [2]float64{s.Spacing, s.Spacing}, SourceImage: s.SourceImage},
		}))
		paths = append(paths, path)
		given = append(given, Given{Film: path, Center: &measure.Point{
			X: float64(s.Width)/2 + s.BeamX/s.Spacing - float64(s.Window.Min.X),
			Y: float64(s.Height)/2 + s.BeamY/s.Spacing - float64(s.Window.Min.Y),
		}})
	}
	return paths, given
}

// TestBeamCorrectionCutsMovementError measures a hip on a patient who lies
// elsewhere on each film, from files to trend, with and without the correction.
func TestBeamCorrectionCutsMovementError(t *testing.T) {
	if testing.Short() {
		t.Skip("renders films")
	}
	scene := phantom.Plain(measure.Right)
	course := phantom.Course{BeddingIn: 0.2, Rate: 0.1, Direction: 20}
	scenes := phantom.Series(scene, course, []float64{0, 2, 4, 6, 8}, phantom.Repositioning{ShiftMM: 25, BeamMM: 15})
	for i := range scenes {
		scenes[i] = scenes[i].Around(measure.Right, 140)
	}
	paths, given := filmed(t, scenes)
	hip := study.Hip{Side: measure.Right, Surgery: time.Date(2004, 12, 1, 0, 0, 0, 0, time.UTC), Implant: study.Implant{HeadMM: 28}}
	rms := map[bool]float64{}
	inside := 0
	for _, off := range []bool{true, false} {
		opt := MeasureOptions{HeadMM: 28, Side: measure.Right, BeamOff: off, Given: given}
		ms, err := Measure(t.Context(), paths, opt, nil)
		require.NoError(t, err)
		hip.BeamOff = off
		tr, err := study.NewTrend(hip, ms)
		require.NoError(t, err)
		require.Equal(t, !off, tr.Method.Beam)
		require.Len(t, tr.Penetration, 5)
		for i, p := range tr.Penetration[1:] {
			up := scenes[i+1].Hips[0].Superior - scenes[0].Hips[0].Superior
			in := scenes[i+1].Hips[0].Medial - scenes[0].Hips[0].Medial
			e := math.Hypot(p.Superior-up, p.Medial-in)
			rms[off] += e * e / 4
			sup, med := p.SE()
			if !off && math.Abs(p.Superior-up) < 1.96*sup && math.Abs(p.Medial-in) < 1.96*med {
				inside++
			}
		}
	}
	before, after := math.Sqrt(rms[true]), math.Sqrt(rms[false])
	t.Logf("root mean square error of movement: %.4f mm uncorrected, %.4f mm corrected; %d of 4 inside both intervals", before, after, inside)
	require.Greater(t, before, 0.035)
	require.Less(t, after, before/2)
}

// TestCollimatedFieldTellsTheCentralRay measures a part cut out of an exposure, which
// tells the central ray by its collimator's tags only.
func TestCollimatedFieldTellsTheCentralRay(t *testing.T) {
	scene := phantom.Plain(measure.Right)
	scene.BeamX, scene.BeamY = 12, -8
	scene = scene.Around(measure.Right, 130)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	ray := measure.Point{
		X: float64(scene.Width)/2 + scene.BeamX/scene.Spacing - float64(scene.Window.Min.X),
		Y: float64(scene.Height)/2 + scene.BeamY/scene.Spacing - float64(scene.Window.Min.Y),
	}
	path := filepath.Join(t.TempDir(), "a.dcm")
	measured := func(field dicomio.Field, given ...Given) study.Measurement {
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{
			Pixels: img, Bits: scene.Bits, Photometric: "MONOCHROME2", View: "AP", Field: field,
			Geometry: dicomio.Geometry{Imager: [2]float64{scene.Spacing, scene.Spacing}, SourceImage: scene.SourceImage},
		}))
		ms, err := Measure(t.Context(), []string{path}, MeasureOptions{HeadMM: scene.Hips[0].HeadMM, Side: measure.Right, Given: given}, nil)
		require.NoError(t, err)
		require.Len(t, ms, 1)
		require.Equal(t, study.Measured, ms[0].Status)
		return ms[0]
	}
	none := measured(dicomio.Field{})
	require.False(t, none.Beam.Corrected)
	require.Contains(t, study.NoteWords(none.Beam.Reason), "a part of an exposure")

	open := dicomio.Field{Left: ray.X - 700, Right: ray.X + 700, Upper: ray.Y - 550, Lower: ray.Y + 550}
	m := measured(open)
	require.True(t, m.Beam.Corrected)
	require.Equal(t, "centre of the collimated field, from the film's tags", m.Beam.CenterFrom.Words())
	require.InDelta(t, ray.X, m.Beam.Center.X, 0.51, "edges are whole columns")
	require.InDelta(t, ray.Y, m.Beam.Center.Y, 0.51)
	require.Contains(t, m.Beam.Words(), "(centre of the collimated field, from the film's tags)")

	other := measure.Point{X: ray.X + 40, Y: ray.Y}
	require.Equal(t, study.OfReader, measured(open, Given{Film: path, Center: &other}).Beam.CenterFrom)

	open.Left, open.Right = open.Right, open.Left
	bad := measured(open)
	require.False(t, bad.Beam.Corrected, "edges the wrong way round are not used")
	facts := source.Facts(path, 1, time.Now())
	require.Len(t, facts.Warnings, 1)
	require.Contains(t, study.NoteWords(facts.Warnings[0]), "the collimator's tags are not used: ")
}
