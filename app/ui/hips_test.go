package ui

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// accepted is a desk whose series R2 has read into a study file.
func accepted(t *testing.T) (d *desk, dir string) {
	d, dir = proposed(t, series...)
	require.NoError(t, d.s.SetReader("R2"))
	require.NoError(t, d.s.CreateStudy(filepath.Join(dir, "s.linerwatch")))
	for i := range series {
		d.s.Select(i)
		require.NoError(t, d.s.Accept())
	}
	d.drain()
	return d, dir
}

// look waits until the hips are read.
func (d *desk) look() {
	d.t.Helper()
	for d.s.Overview().Loading() {
		(<-d.queue)()
	}
	d.drain()
}

func TestHipsPageListsAndOpens(t *testing.T) {
	d, _ := accepted(t)
	d.key(fyne.KeyF2, false)
	require.True(t, d.hips.object.Visible())
	require.Contains(t, d.hips.empty.Text, "Reading the study file")
	d.look()
	require.Empty(t, d.hips.empty.Text)
	row := d.hips.table.Rows()[0]
	require.Equal(t, "T1", row[0].Text)
	require.Equal(t, "right · done", row[0].More)
	require.Equal(t, "28 mm head", row[2].Text)
	require.Equal(t, "8 mm liner", row[2].More)
	require.Equal(t, "4 of 4", row[4].Text)
	require.Equal(t, "R2", row[4].More)
	require.Equal(t, "0.100 mm/year", row[5].Text)
	require.Equal(t, "head material", row[6].Text)

	d.hips.find.SetText("no such hip")
	require.Contains(t, d.hips.empty.Text, "No hip matches")
	require.Empty(t, d.hips.table.Rows())
	d.hips.find.SetText("material")
	require.Len(t, d.hips.table.Rows(), 1)
	d.win.Canvas().Focus(d.hips.find)
	d.hips.find.TypedKey(&fyne.KeyEvent{Name: fyne.KeyF3})
	require.Equal(t, hipPageOf, d.page, "keys of the pages work while words are typed")
	d.key(fyne.KeyF2, false)
	d.hips.find.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	require.Nil(t, d.win.Canvas().Focused())
	d.hips.state.SetSelected(string(study.HipToRead))
	require.Empty(t, d.hips.table.Rows())
	d.hips.state.SetSelected(everyState)
	d.key(fyne.KeyDown, false)
	require.Equal(t, 0, d.hips.table.Cursor())
	d.key(fyne.KeyReturn, false)
	require.Equal(t, readPage, d.page)
	d.letter('/')
	require.Equal(t, readPage, d.page)
}

func TestHipsPageWithoutAStudySaysSo(t *testing.T) {
	d, _ := proposed(t, series...)
	d.turn(hipsPageOf)
	require.Contains(t, d.hips.empty.Text, "No study file is open")
	require.True(t, d.hips.export.Disabled())
}

func TestHipPageShowsFilmsReadingsAndWhatIsMissing(t *testing.T) {
	d, _ := accepted(t)
	d.key(fyne.KeyF3, false)
	require.True(t, d.hip.object.Visible())
	require.Contains(t, d.hip.missing.Text, "– polyethylene")
	require.NotContains(t, d.hip.missing.Text, "film of the first", "the first is four weeks old")
	films := d.hip.films.Rows()
	require.Len(t, films, 4)
	require.Equal(t, "baseline", films[0][2].Text)
	require.Contains(t, films[3][2].Text, "0.80 ± ")
	require.Equal(t, "accepted, R2", films[3][1].Text)
	require.Len(t, d.hip.readings.Rows(), 4)
	require.Equal(t, "counts", d.hip.readings.Rows()[0][4].Text)

	require.NoError(t, d.s.SetReader("R7"))
	d.s.Select(3)
	d.s.Nudge(0, 1)
	require.NoError(t, d.s.Accept())
	d.drain()
	require.Len(t, d.hip.readings.Rows(), 5)
	require.Equal(t, "R7", d.hip.readings.Rows()[0][1].Text)
	require.Equal(t, "kept", d.hip.readings.Rows()[1][4].Text, "R2's stands beside it")
	d.hip.counts.SetSelected("R2")
	d.drain()
	require.Equal(t, "R2", d.s.Counts())
	require.Equal(t, "Undo: count readings of R2", d.bar.undo.Text)
	require.Equal(t, "kept", d.hip.readings.Rows()[0][4].Text)
	require.Equal(t, "counts", d.hip.readings.Rows()[1][4].Text)

	require.NoError(t, d.s.SetReader("R2"))
	d.s.Select(0)
	d.s.Nudge(0, 1)
	require.NoError(t, d.s.Accept())
	d.s.Undo()
	d.s.Undo()
	d.drain()
	require.Len(t, d.hip.readings.Rows(), 6)
	require.Equal(t, "withdrawn, kept", d.hip.readings.Rows()[0][4].Text)
	require.Contains(t, d.hip.readings.Rows()[0][4].More, " by R2")

	d.hip.baseline.SetSelectedIndex(2)
	d.drain()
	require.Equal(t, "baseline", d.hip.films.Rows()[1][2].Text)
	d.s.Undo()
	d.drain()
	require.Equal(t, "baseline", d.hip.films.Rows()[0][2].Text)
	d.hip.films.OnOpen(2)
	require.Equal(t, readPage, d.page)
	require.Equal(t, 2, d.s.SelectedIndex())
}

func TestReadingThatWouldNotCountAsksWhose(t *testing.T) {
	d, _ := accepted(t)
	require.NoError(t, d.s.SetCounts("R2"))
	require.NoError(t, d.s.SetReader("R7"))
	d.s.Nudge(0, 1)
	d.accept()
	require.Len(t, d.saved, 4)
	d.press("Mine, R7")
	require.Len(t, d.saved, 5)
	require.Equal(t, "R7", d.s.Counts())
}

func TestExportWritesTables(t *testing.T) {
	d, dir := accepted(t)
	d.turn(hipsPageOf)
	d.look()
	d.press("Export tables …")
	e := onScreen[*field](d.win)
	require.Equal(t, filepath.Join(dir, "s-tables"), e[0].Text)
	d.press("Write tables")
	d.drain()
	f, err := os.Open(filepath.Join(dir, "s-tables", "readings.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	require.FileExists(t, filepath.Join(dir, "s-tables", "codebook.csv"))
}

func TestFormKeepsMaterialAndShell(t *testing.T) {
	f := newHipForm(nil, session.HipForm{Patient: "T1", Side: "left", Surgery: "2004-01-01", HeadMM: "28", HeadMaterial: "ZTA",
		LinerMM: "8", PE: "XLPE", ShellMM: "52", Fixation: "cemented", Group: "B", StartYears: "1"})
	got := f.form()
	require.Equal(t, []string{"ZTA", "52", "cemented", "B", "XLPE"}, []string{got.HeadMaterial, got.ShellMM, got.Fixation, got.Group, got.PE})
	f.material.SetSelected(peUnknown)
	require.Empty(t, f.form().HeadMaterial)
}
