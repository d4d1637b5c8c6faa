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
	require.NoError(t, d.create(filepath.Join(dir, "s.linerwatch")))
	for i := range series {
		d.s.Strip().Select(i)
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
	require.True(t, of[*hipsPage](d).object.Visible())
	require.Contains(t, of[*hipsPage](d).empty.Text, "Reading the study file")
	d.look()
	require.Empty(t, of[*hipsPage](d).empty.Text)
	row := of[*hipsPage](d).table.Rows()[0]
	require.Equal(t, "T1", row[0].Text)
	require.Equal(t, "right · done", row[0].More)
	require.Equal(t, "28 mm head", row[2].Text)
	require.Equal(t, "8 mm liner", row[2].More)
	require.Equal(t, "4 of 4", row[4].Text)
	require.Equal(t, "R2", row[4].More)
	require.Equal(t, "0.100 mm/year", row[5].Text)
	require.Equal(t, "head material", row[6].Text)

	of[*hipsPage](d).find.SetText("no such hip")
	require.Contains(t, of[*hipsPage](d).empty.Text, "No hip matches")
	require.Empty(t, of[*hipsPage](d).table.Rows())
	of[*hipsPage](d).find.SetText("material")
	require.Len(t, of[*hipsPage](d).table.Rows(), 1)
	d.win.Canvas().Focus(of[*hipsPage](d).find)
	of[*hipsPage](d).find.TypedKey(&fyne.KeyEvent{Name: fyne.KeyF3})
	require.Equal(t, "Hip", d.inFront(), "keys of the pages work while words are typed")
	d.key(fyne.KeyF2, false)
	of[*hipsPage](d).find.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	require.Nil(t, d.win.Canvas().Focused())
	of[*hipsPage](d).state.SetSelected(string(study.HipToRead))
	require.Empty(t, of[*hipsPage](d).table.Rows())
	of[*hipsPage](d).state.SetSelected(everyState)
	d.key(fyne.KeyDown, false)
	require.Equal(t, 0, of[*hipsPage](d).table.Cursor())
	d.key(fyne.KeyReturn, false)
	require.Equal(t, "Read", d.inFront())
	d.letter('/')
	require.Equal(t, "Read", d.inFront())
}

func TestHipsPageWithoutAStudySaysSo(t *testing.T) {
	d, _ := proposed(t, series...)
	d.key(fyne.KeyF2, false)
	require.Contains(t, of[*hipsPage](d).empty.Text, "No study file is open")
	require.True(t, of[*hipsPage](d).export.Disabled())
}

func TestHipPageShowsFilmsReadingsAndWhatIsMissing(t *testing.T) {
	d, _ := accepted(t)
	d.key(fyne.KeyF3, false)
	require.True(t, of[*hipPage](d).object.Visible())
	require.Contains(t, of[*hipPage](d).missing.Text, "– polyethylene")
	require.NotContains(t, of[*hipPage](d).missing.Text, "film of the first", "the first is four weeks old")
	films := of[*hipPage](d).films.Rows()
	require.Len(t, films, 4)
	require.Equal(t, "baseline", films[0][2].Text)
	require.Contains(t, films[3][2].Text, "0.80 ± ")
	require.Equal(t, "accepted, R2", films[3][1].Text)
	require.Len(t, of[*hipPage](d).readings.Rows(), 4)
	require.Equal(t, "counts", of[*hipPage](d).readings.Rows()[0][4].Text)

	require.NoError(t, d.s.SetReader("R7"))
	d.s.Strip().Select(3)
	d.s.Edits().Nudge(0, 1)
	require.NoError(t, d.s.Accept())
	d.drain()
	require.Len(t, of[*hipPage](d).readings.Rows(), 5)
	require.Equal(t, "R7", of[*hipPage](d).readings.Rows()[0][1].Text)
	require.Equal(t, "kept", of[*hipPage](d).readings.Rows()[1][4].Text, "R2's stands beside it")
	of[*hipPage](d).counts.SetSelected("R2")
	d.drain()
	require.Equal(t, "R2", d.s.Book().Counts())
	require.Equal(t, "Undo: count readings of R2", d.bar.undo.Text)
	require.Equal(t, "kept", of[*hipPage](d).readings.Rows()[0][4].Text)
	require.Equal(t, "counts", of[*hipPage](d).readings.Rows()[1][4].Text)

	require.NoError(t, d.s.SetReader("R2"))
	d.s.Strip().Select(0)
	d.s.Edits().Nudge(0, 1)
	require.NoError(t, d.s.Accept())
	d.s.History().Undo()
	d.s.History().Undo()
	d.drain()
	require.Len(t, of[*hipPage](d).readings.Rows(), 6)
	require.Equal(t, "withdrawn, kept", of[*hipPage](d).readings.Rows()[0][4].Text)
	require.Contains(t, of[*hipPage](d).readings.Rows()[0][4].More, " by R2")

	of[*hipPage](d).baseline.SetSelectedIndex(2)
	d.drain()
	require.Equal(t, "baseline", of[*hipPage](d).films.Rows()[1][2].Text)
	d.s.History().Undo()
	d.drain()
	require.Equal(t, "baseline", of[*hipPage](d).films.Rows()[0][2].Text)
	of[*hipPage](d).films.OnOpen(2)
	require.Equal(t, "Read", d.inFront())
	require.Equal(t, 2, d.s.Strip().SelectedIndex())
}

func TestReadingThatWouldNotCountAsksWhose(t *testing.T) {
	d, _ := accepted(t)
	require.NoError(t, d.s.Book().SetCounts("R2"))
	require.NoError(t, d.s.SetReader("R7"))
	d.s.Edits().Nudge(0, 1)
	d.accept()
	require.Len(t, d.saved(), 4)
	d.press("Mine, R7")
	require.Len(t, d.saved(), 5)
	require.Equal(t, "R7", d.s.Book().Counts())
}

func TestExportWritesTables(t *testing.T) {
	d, dir := accepted(t)
	d.key(fyne.KeyF2, false)
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
