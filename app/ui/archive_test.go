package ui

import (
	"fmt"
	"image"
	"net/http/httptest"
	"path/filepath"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/dicomio"
	"linerwatch/dicomio/web/webtest"
)

// archived is a desk, and the address of an archive with n films of patient P1.
func archived(t *testing.T, n int) (d *desk, address string) {
	d = newDesk(t)
	a, dir := &webtest.Archive{}, t.TempDir()
	for i := range n {
		img := image.NewGray16(image.Rect(0, 0, 400, 400))
		img.Pix[1] = byte(i)
		path := filepath.Join(dir, fmt.Sprintf("%d.dcm", i))
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2",
			PatientCode: "P1", Date: time.Date(2012, 3, 1+i, 0, 0, 0, 0, time.UTC)}))
		require.NoError(t, a.Add(path))
	}
	s := httptest.NewServer(a)
	t.Cleanup(s.Close)
	d.s = session.New(session.Config{Post: func(f func()) { d.queue <- f }, Studies: d.studies(), Detect: detect,
		ArchivesPath: filepath.Join(dir, "archives.json"), StudyPath: filepath.Join(dir, "cohort.linerwatch")})
	d.window = newWindow(fyne.CurrentApp(), d.s, func(f func()) { d.queue <- f })
	return d, s.URL
}

// until runs what the background sends until it is so.
func (d *desk) until(so func() bool) {
	d.t.Helper()
	for !so() {
		select {
		case f := <-d.queue:
			f()
		case <-time.After(10 * time.Second):
			d.t.Fatal("the background sent nothing")
		}
	}
}

// set sets an archive up, as the form does.
func (d *desk) setsUp(address string) {
	d.t.Helper()
	done := false
	d.s.Archives().Set(session.ArchiveSettings{Name: "ward", Address: address}, "", func(kept bool, err error) {
		require.NoError(d.t, err)
		require.True(d.t, kept)
		done = true
	})
	d.until(func() bool { return done })
}

// A patient's series are found, one is left, the others are fetched and opened.
func TestFilmsFromAnArchive(t *testing.T) {
	d, address := archived(t, 3)
	s := d.searchArchive("")
	require.Contains(t, s.said.Text, "No archive is set up yet.")
	require.True(t, s.search.Disabled())
	s.dialog.Hide()

	d.setsUp(address)
	s = d.searchArchive("")
	require.Equal(t, "ward", s.names.Selected)
	s.patient.SetText("P2")
	s.find()
	require.Equal(t, "Searching …", s.said.Text)
	d.until(func() bool { return s.said.Text != "Searching …" })
	require.Equal(t, "ward has no films of this patient.", s.said.Text)
	require.True(t, s.fetch.Disabled())

	s.patient.SetText("P*")
	s.find()
	d.until(func() bool { return s.said.Text != "Searching …" })
	require.Contains(t, s.said.Text, "A patient's code has 1 to 64 characters")

	s.patient.SetText("P1")
	s.find()
	d.until(func() bool { return len(s.series) > 0 })
	require.Empty(t, s.said.Text)
	require.Equal(t, "2012-03-01", s.table.Rows()[0][0].Text)
	require.Equal(t, "Fetch 3 series", s.fetch.Text)
	s.key(&fyne.KeyEvent{Name: fyne.KeyDown})
	s.key(&fyne.KeyEvent{Name: fyne.KeySpace})
	require.Equal(t, "Fetch 2 series", s.fetch.Text)
	require.Empty(t, s.table.Rows()[1][5].Text)
	s.key(&fyne.KeyEvent{Name: fyne.KeyReturn})
	require.False(t, d.covered())
	d.drain()
	require.Len(t, d.s.Strip().Films(), 2)
}

// An archive that does not answer is set all the same, and the fault is told.
func TestSetUpAnArchive(t *testing.T) {
	d, address := archived(t, 1)
	s := d.searchArchive("")
	told := ""
	s.look.Set(session.ArchiveSettings{Name: "a b", Address: address}, "", func(kept bool, err error) {
		require.False(t, kept)
		told = sentenceOf(err)
	})
	require.Contains(t, told, "no name of an archive")
	done := false
	s.look.Set(session.ArchiveSettings{Name: "gone", Address: "127.0.0.1:1", Called: "A"}, "", func(kept bool, err error) {
		require.True(t, kept)
		require.Contains(t, sentenceOf(err), "The archive cannot be reached")
		done = true
	})
	d.until(func() bool { return done })
	s.offer("gone")
	require.Equal(t, "gone", s.names.Selected)

	refused := func(set session.ArchiveSettings, password string) (said string) {
		s.look.Set(set, password, func(kept bool, err error) {
			require.False(t, kept)
			said = sentenceOf(err)
		})
		d.until(func() bool { return said != "" })
		return said
	}
	web := session.ArchiveSettings{Name: "away", Address: "https://127.0.0.1:1/d", User: "u", PasswordFile: filepath.Join(t.TempDir(), "none")}
	require.Contains(t, refused(web, "p"), "leave one of the two out")
	require.Contains(t, refused(web, ""), "no such file")

	// The dialog begins with the archive that was asked last, not with the first.
	done = false
	s.look.Set(session.ArchiveSettings{Name: "away", Address: "127.0.0.1:1", Called: "A"}, "", func(bool, error) { done = true })
	d.until(func() bool { return done })
	s.patient.SetText("P1")
	s.find()
	d.until(func() bool { return s.said.Text != "Searching …" })
	s.dialog.Hide()
	s = d.searchArchive(d.s.Archives().Last())
	require.Equal(t, "gone", s.names.Selected)

	s.setUp()
	require.True(t, d.covered())
	s.w.top().dialog.Hide()
	require.Equal(t, s.dialog, s.w.top().dialog, "back to the search")
}
