package batch

import (
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/dicomio/result"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// wireFilm is a film of a right hip whose cemented cup has a wire ring.
func wireFilm(t *testing.T) *dicomio.Film {
	t.Helper()
	s := phantom.Default()
	hip := phantom.DefaultHip(measure.Right)
	hip.Cup, hip.ShellMM, hip.Anteversion = measure.Wire, 50, 20
	s.Hips = []phantom.Hip{hip}
	s = s.Around(measure.Right, 150)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	f := phantomFilm(t)
	f.Pixels, f.Rows, f.Columns = img, img.Rect.Dy(), img.Rect.Dx()
	return f
}

// A wire ring is told as an ellipse of a cemented cup, with how the cup lies.
func TestResultsOfAWireRing(t *testing.T) {
	r, out := accepted(t, filmFile(t, t.TempDir(), "a.dcm", "2004-06-14", wireFilm(t))), t.TempDir()
	done, err := Results(t.Context(), r, options(out), nil)
	require.NoError(t, err)
	require.Len(t, done[0].Files, 3)
	got, _ := reportOf(t, out, "H1-20040614-report.dcm")
	cup, ring := got.Groups[1], r.Readings[0].Cup.Ring
	assert.Equal(t, result.Monoblock, cup.Finding)
	for _, d := range []float64{cup.Outline.X - ring.X, cup.Outline.Y - ring.Y, cup.Outline.A - ring.A, cup.Outline.B - ring.B} {
		assert.InDelta(t, 0, d, 1e-3)
	}
	o, ok := r.Readings[0].Orientation()
	require.True(t, ok)
	assert.Equal(t, o.Anteversion, numberOf(t, got, result.Anteversion).Value)
	assert.Equal(t, result.RingOfWire, numberOf(t, got, result.InclinedToRows).Method)
	assert.Equal(t, []string{"head", "cup", "hip"}, []string{got.Groups[0].Name, cup.Name, got.Groups[2].Name})
}

// What is written of measured films, a corrected and withdrawn ones among them, is in order by
// dicom3tools: each object, and all of them with their films. The test is skipped where
// that is not installed.
func TestWrittenResultsAreInOrder(t *testing.T) {
	if _, err := exec.LookPath("dciodvfy"); err != nil {
		t.Skip("dicom3tools are not installed: nothing is checked against them")
	}
	dir, out := t.TempDir(), t.TempDir()
	films := []string{filmFile(t, dir, "a.dcm", "2004-06-14", wireFilm(t)), filmFile(t, dir, "b.dcm", "2006-06-14", lying(broad(wireFilm(t), 1.25)))}
	r := accepted(t, films...)
	_, err := Results(t.Context(), r, options(out), nil)
	require.NoError(t, err)
	g := r.Readings[1]
	g.ID, g.Supersedes = "later", g.ID
	g.Cup.X++
	g.Measurement, err = g.Read(g.How)
	require.NoError(t, err)
	r.Readings = append(r.Readings, g)
	_, err = Results(t.Context(), r, options(out), nil)
	require.NoError(t, err)
	for i := range r.Readings {
		r.Readings[i].Withdrawn = &study.Withdrawal{ReadingID: r.Readings[i].ID, Reader: "R2"}
	}
	r.Readings[1].Withdrawn = nil // the one before the corrected one
	_, err = Results(t.Context(), r, options(out), nil)
	require.NoError(t, err)
	files, err := filepath.Glob(filepath.Join(out, "*.dcm"))
	require.NoError(t, err)
	require.Len(t, files, 13) // of the earlier reading of b.dcm, which counts again, a third time
	for _, f := range files {
		said, err := exec.Command("dciodvfy", f).CombinedOutput()
		assert.NoError(t, err, "%s", said)
		assert.NotContains(t, string(said), "Error", filepath.Base(f))
	}
	said, err := exec.Command("dcentvfy", append(films, files...)...).CombinedOutput()
	assert.NoError(t, err, "%s", said)
	assert.NotContains(t, string(said), "Error")
}
