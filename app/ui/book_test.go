package ui

import (
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// twoPatients is a desk with a study of one hip, beside which a film of another patient
// waits.
func twoPatients(t *testing.T) *desk {
	d := patients(t)
	dir := filmsIn(t, series...)
	d.add([]string{dir})
	d.drain()
	d.dialogKey(fyne.KeyReturn)
	d.drain()
	d.fill("2004-01-01", "28", "8")
	d.drain()
	require.NoError(t, d.create(filepath.Join(dir, "s"+study.FileExt)))
	d.s.Overview()
	d.look()
	return d
}

func (d *desk) hip() string {
	h, _ := d.s.Hip()
	return h.Label()
}

// Keys go from hip to hip; a hip that was not begun is begun, and its form asked.
func TestHipsByKey(t *testing.T) {
	d := twoPatients(t)
	d.letter('<')
	require.Contains(t, d.s.Notice(), "This is the first hip of the study.")
	d.letter('>')
	d.drain()
	require.True(t, d.asking, "what no file says is asked")
	d.fillFor("T2", "2004-01-01", "28", "8")
	d.drain()
	require.Equal(t, "T2 right", d.hip())
	d.s.Overview()
	d.look()
	d.letter('<')
	d.drain()
	require.Equal(t, "T1 right", d.hip())
	require.Equal(t, "T1 right.", d.s.Notice())
	for d.s.Overview().Busy() {
		(<-d.queue)()
	}
	d.letter('3')
	d.drain()
	require.Equal(t, "T2 right", d.hip())
	require.Equal(t, "s.linerwatch · Linerwatch", d.win.Title())
}

// What was open last is open again at the start, with its hips in front; one that cannot
// be opened is told on the first screen.
func TestStartGoesOn(t *testing.T) {
	d := twoPatients(t)
	path := d.s.Book().Path()
	again := func() {
		d.s = session.New(session.Config{Post: func(f func()) { d.queue <- f }, Studies: d.studies(), Detect: detect, Open: openFilm,
			SettingsPath: filepath.Join(filepath.Dir(path), "settings.json")})
		d.window = newWindow(fyne.CurrentApp(), d.s, func(f func()) { d.queue <- f })
	}
	again()
	require.NoError(t, d.openBook(path)) // remembers it
	d.drain()
	again()
	d.goOn(func() {})
	d.drain()
	require.Equal(t, path, d.s.Book().Path())
	require.Equal(t, d.placeOf("Hips"), d.at)

	again()
	delete(d.files, path)
	d.goOn(func() {})
	d.drain()
	require.Empty(t, d.s.Book().Path())
	require.Contains(t, d.s.Notice(), "was not opened")
}
