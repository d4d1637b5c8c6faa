package session

import (
	"encoding/pem"
	"fmt"
	"image"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/archive"
	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/dicomio/web/webtest"
)

// archived is a bench with an archive of n films of patient P1; slow is asked before each
// film is sent.
func archived(t *testing.T, n int, slow func()) *bench {
	b := newBench(t)
	a, dir := &webtest.Archive{}, t.TempDir()
	for i := range n {
		img := image.NewGray16(image.Rect(0, 0, 20, 20))
		img.Pix[1] = byte(i)
		path := filepath.Join(dir, fmt.Sprintf("%d.dcm", i))
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2",
			PatientCode: "P1", Date: time.Date(2012, 3, 1+i, 0, 0, 0, 0, time.UTC)}))
		require.NoError(t, a.Add(path))
	}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if len(r.URL.Path) > 150 && slow != nil { // of a film
			slow()
		}
		a.ServeHTTP(w, r)
	}))
	t.Cleanup(s.Close)
	b.cfg.ArchivesPath = filepath.Join(dir, "archives.json")
	require.NoError(t, archive.Save(b.cfg.ArchivesPath, []archive.Settings{{Name: "ward", Address: s.URL}}))
	b.cfg.StudyPath = filepath.Join(dir, "cohort.linerwatch")
	b.cfg.Open = func(path string) (*dicomio.Film, error) {
		if f, err := b.open(path); err == nil {
			return f, nil
		}
		return source.Open(path, b.cfg.Now())
	}
	return b
}

// finds asks for a patient.
func (b *bench) finds(patient string) (list []study.Series, err error) {
	b.t.Helper()
	shown := false
	b.Archives().Find("ward", patient, func(l []study.Series, e error) { list, err, shown = l, e, true })
	for !shown {
		b.one()
	}
	return list, err
}

// Films are fetched into the folder beside the study, and opened; those that are there are
// opened, too.
func TestFetchFromArchive(t *testing.T) {
	b := archived(t, 3, nil)
	names, err := b.Archives().Names()
	require.NoError(t, err)
	require.Equal(t, []string{"ward"}, names)
	list, err := b.finds("P1")
	require.NoError(t, err)
	require.Len(t, list, 3)
	_, err = b.finds("P*")
	require.Error(t, err)

	b.Archives().Fetch("ward", list[:2])
	b.drain()
	dir := filepath.Join(filepath.Dir(b.cfg.StudyPath), "cohort-films")
	films, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, films, 2)
	require.Len(t, b.Strip().Films(), 2)
	require.Contains(t, b.Notice(), "2 films came from ward; 0 more were there before.")
	require.Equal(t, dir, filepath.Dir(b.Strip().Films()[0].Path))

	b.Archives().Fetch("ward", list)
	b.drain()
	require.Len(t, b.Strip().Films(), 3)
	require.Contains(t, b.Notice(), "1 film came from ward; 2 more were there before.")
}

// What has come is told once, however many films of it the study has already.
func TestFetchOfKnownFilmsIsToldOnce(t *testing.T) {
	b := archived(t, 4, nil)
	list, err := b.finds("P1")
	require.NoError(t, err)
	b.Archives().Fetch("ward", list)
	b.drain()
	require.Equal(t, 1, b.Intake().Found().Time)
	require.Equal(t, 4, b.Intake().Found().Files)
	h := hip()
	h.Patient = "P1"
	require.NoError(t, b.SetHip(h))
	b.drain()
	b.waitSaved()
	b.strip.Add(b.folder("T1-R", "2004-03-01"))
	b.drain()
	require.NoError(t, b.intake.Begin(b.intake.Piles()[0])) // another hip is open
	b.drain()
	dir := filepath.Join(filepath.Dir(b.cfg.StudyPath), "cohort-films")
	require.NoError(t, os.Rename(dir, dir+"-were")) // so that all come again
	require.NoError(t, os.Mkdir(dir, 0o700))
	times := b.Intake().Found().Time
	b.Archives().Fetch("ward", list)
	b.drain()
	require.Equal(t, times+1, b.Intake().Found().Time)
	require.Equal(t, 4, b.Intake().Found().Files)
	require.Equal(t, "4 films came from ward; 0 more were there before. Already in this study, and left as they are there: 4 films.", b.Notice())
}

// Beside films of another patient those that are fetched are opened together.
func TestFetchBesideAnotherPatient(t *testing.T) {
	b := archived(t, 3, nil)
	list, err := b.finds("P1")
	require.NoError(t, err)
	b.Strip().Add(b.folder("T1-R", "2004-03-01"))
	b.drain()
	b.Strip().Films()[0].Facts.Patient = "T1"
	times := b.Intake().Found().Time
	b.Archives().Fetch("ward", list)
	b.drain()
	require.Equal(t, times+1, b.Intake().Found().Time, "told of once")
	require.Equal(t, 3, b.Intake().Found().Files)
}

// A stop keeps what has come, and says so by what is there.
func TestFetchStops(t *testing.T) {
	sent, free := make(chan struct{}), make(chan struct{})
	b := archived(t, 4, func() {
		select {
		case sent <- struct{}{}:
		case <-free:
		}
	})
	list, err := b.finds("P1")
	require.NoError(t, err)
	b.Archives().Fetch("ward", list)
	<-sent
	for len(b.Strip().Films()) == 0 {
		b.one()
	}
	b.Work().Stop()
	close(free)
	b.drain()
	require.Less(t, len(b.Strip().Films()), 4)
}

// An archive that is gone, or not set, is told.
func TestFetchIsTold(t *testing.T) {
	b := archived(t, 1, nil)
	require.NoError(t, archive.Save(b.cfg.ArchivesPath, []archive.Settings{{Name: "ward", Address: "http://127.0.0.1:1"}}))
	_, err := b.finds("P1")
	require.Contains(t, study.Told(err), "cannot be reached")
	b.Archives().Fetch("ward", []study.Series{{Study: "1.2", UID: "1.3"}})
	b.drain()
	require.Contains(t, b.Notice(), "ward: the archive cannot be reached")
	b.Archives().Fetch("other", nil)
	b.drain()
	require.Contains(t, b.Notice(), "no archive other is set")
	b.cfg.StudyPath = ""
	b.Archives().Fetch("ward", nil)
	require.Contains(t, b.Notice(), "no study file is open")
}

// What the window does not ask stays where an archive of the same name is set anew; a place
// to receive at goes where the archive is asked by DICOMweb from then on.
func TestSetKeepsWhatIsNotAsked(t *testing.T) {
	b := newBench(t)
	b.cfg.ArchivesPath = filepath.Join(t.TempDir(), "archives.json")
	ca := filepath.Join(t.TempDir(), "ca.pem")
	server := httptest.NewTLSServer(nil)
	server.Close()
	require.NoError(t, os.WriteFile(ca, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: server.Certificate().Raw}), 0o600))
	was := archive.Settings{Name: "ward", Address: "127.0.0.1:1", Called: "OLD", Calling: "LINERWATCH", Receive: ":11112", CA: ca}
	require.NoError(t, archive.Save(b.cfg.ArchivesPath, []archive.Settings{was}))
	for _, c := range []struct{ set, want archive.Settings }{
		{archive.Settings{Name: "ward", Address: "127.0.0.1:2", Called: "NEW"},
			archive.Settings{Name: "ward", Address: "127.0.0.1:2", Called: "NEW", Calling: "LINERWATCH", Receive: ":11112", CA: ca}},
		{archive.Settings{Name: "ward", Address: "http://127.0.0.1:2/dicom-web"},
			archive.Settings{Name: "ward", Address: "http://127.0.0.1:2/dicom-web", CA: ca}},
	} {
		var why error
		set := false
		b.Archives().Set(c.set, "", func(kept bool, err error) { set, why = kept, err })
		for why == nil { // nothing is there that answers
			b.one()
		}
		require.True(t, set, why)
		list, err := archive.Load(b.cfg.ArchivesPath)
		require.NoError(t, err)
		require.Equal(t, []archive.Settings{c.want}, list)
	}
}
