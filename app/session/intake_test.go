package session

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// patients makes the films of a folder those of the patient and side that it is named
// for: "T2-L".
func (b *bench) patients() {
	open := b.cfg.Open
	b.cfg.Open = func(path string) (*filmFile, error) {
		f, err := open(path)
		if err != nil {
			return f, err
		}
		code, side, _ := strings.Cut(filepath.Base(filepath.Dir(path)), "-")
		if code != "0" {
			f.PatientCode, f.Laterality = code, side
		} else {
			f.PatientCode, f.Laterality = "", ""
		}
		return f, nil
	}
}

// folder returns films of some dates in a folder of that name.
func (b *bench) folder(name string, dates ...string) (paths []string) {
	b.t.Helper()
	dir := filepath.Join(b.t.TempDir(), name)
	require.NoError(b.t, os.Mkdir(dir, 0o755))
	for _, d := range dates {
		paths = append(paths, touch(b.t, dir, d+".dcm"))
	}
	return paths
}

// Two folders of different patients, opened one after the other, are two hips, and the
// first stays as it is.
func TestAnotherPatientsFilmsWait(t *testing.T) {
	b := newBench(t)
	b.patients()
	b.strip.Add(b.folder("T1-R", "2004-03-01", "2006-03-01", "2008-03-01"))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	b.Edits().Nudge(1, 0)
	before := *b.strip.Selected().Draft

	b.strip.Add(b.folder("T2-R", "2005-05-01", "2007-05-01"))
	b.drain()
	require.Len(t, b.strip.Films(), 3, "the hip that is read stays as it is")
	require.Equal(t, before, *b.strip.Selected().Draft)
	piles := b.intake.Piles()
	require.Len(t, piles, 1)
	require.Equal(t, Kind{Patient: "T2", Side: measure.Right}, piles[0].Kind)
	require.Len(t, piles[0].Films, 2)
	require.Equal(t, "2 films of another patient or side (T2, right) wait among the hips (F2).", b.Notice())
	rows := b.Overview().Rows()
	require.Len(t, rows, 1)
	require.Equal(t, study.HipNotBegun, rows[0].State)

	require.ErrorIs(t, b.intake.Begin(piles[0]), ErrNoStudy, "the first hip would be lost")
	require.Len(t, b.intake.Piles(), 1)
	require.NoError(t, b.SetReader("R1"))
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.book.create(path))
	require.NoError(t, b.intake.Begin(piles[0]))
	b.drain()
	require.Empty(t, b.intake.Piles())
	require.Len(t, b.strip.Films(), 2)
	_, known := b.Hip()
	require.False(t, known)
	require.True(t, b.NeedsHip(), "what no file says is asked")
	form, err := b.Form()
	require.NoError(t, err)
	require.Equal(t, "T2", form.Text(FieldPatient))
	second := hip()
	second.Patient, second.Implant.HeadMM = "T2", 32
	require.NoError(t, b.SetHip(second))
	b.drain()
	require.NoError(t, b.Accept())
	require.Len(t, b.book.Hips(), 2)

	first := b.book.Hips()[0]
	if first.Patient != "T1" {
		first = b.book.Hips()[1]
	}
	require.NoError(t, b.OpenHip(first.ID))
	b.drain()
	require.Len(t, b.strip.Films(), 3)
	require.Equal(t, Edited, b.strip.Selected().State(), "what was not accepted is still there")
	require.InDelta(t, before.Head.At.X, b.strip.Selected().Draft.Head.At.X, 1e-9)
	require.InDelta(t, 28, first.Implant.HeadMM, 0)
}

// Opened at once, they are told apart, and nothing is lost.
func TestFilmsOfSeveralPatientsOpenedAtOnce(t *testing.T) {
	b := newBench(t)
	b.patients()
	all := b.folder("T1-R", "2004-03-01", "2006-03-01", "2008-03-01")
	all = append(all, b.folder("T2-L", "2005-05-01", "2007-05-01")...)
	all = append(all, b.folder("T1-L", "2009-07-01")...)
	b.strip.Add(all)
	b.drain()
	require.Len(t, b.strip.Films(), 3)
	require.Equal(t, "T1", b.strip.Selected().Facts.Patient)
	piles := b.intake.Piles()
	require.Len(t, piles, 2)
	require.Equal(t, "T1, left", piles[0].Name())
	require.Equal(t, "T2, left", piles[1].Name())
	require.NoError(t, b.intake.Begin(piles[1]))
	b.drain()
	require.Len(t, b.strip.Films(), 2)
	require.Len(t, b.intake.Piles(), 2, "those of which nothing was said yet wait")
	require.NoError(t, b.intake.Begin(Pile{Kind: Kind{Patient: "T1", Side: measure.Right}, Waits: study.NotSorted}))
	b.drain()
	require.Len(t, b.strip.Films(), 3)
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	for _, f := range b.strip.Films() {
		require.Equal(t, Proposed, f.State())
	}
	b.strip.Add(all)
	b.drain()
	require.Len(t, b.strip.Films(), 3, "what waits already does not come twice")
	require.Len(t, b.intake.Piles(), 2)
	require.Len(t, b.intake.Piles()[1].Films, 2)
}

// What waits is kept in the study, and joins its hip where that is there.
func TestWaitingFilmsAreKept(t *testing.T) {
	b := newBench(t)
	b.patients()
	require.NoError(t, b.SetReader("R1"))
	b.strip.Add(b.folder("T1-R", "2004-03-01", "2006-03-01"))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.book.create(path))
	require.NoError(t, b.Accept())
	b.strip.Add(b.folder("T2-L", "2005-05-01"))
	b.drain()
	require.Len(t, b.intake.Piles(), 1)
	for len(b.intake.unsaved()) > 0 {
		b.one()
	}

	c := newBench(t)
	c.patients()
	c.cfg.Studies = b.cfg.Studies
	require.NoError(t, c.book.open(path))
	c.drain()
	require.Len(t, c.intake.Piles(), 1, "after the study was opened anew")
	require.Empty(t, c.intake.Piles()[0].Hip)

	// A film of the first hip that is opened while the second is read goes to the first.
	require.NoError(t, c.intake.Begin(c.intake.Piles()[0]))
	c.drain()
	second := hip()
	second.Patient, second.Side = "T2", measure.Left
	require.NoError(t, c.SetHip(second))
	c.drain()
	c.strip.Add(c.folder("T1-R", "2010-03-01"))
	c.drain()
	require.Len(t, c.intake.Piles(), 1)
	require.NotEmpty(t, c.intake.Piles()[0].Hip)
	require.NoError(t, c.intake.Begin(c.intake.Piles()[0]))
	c.drain()
	h, _ := c.Hip()
	require.Equal(t, "T1", h.Patient)
	require.Len(t, c.strip.Films(), 3)
	require.Empty(t, c.intake.Piles())
}

// A film that contradicts its hip is not accepted before the reader vouches for it.
func TestContradictingFilmIsNotAccepted(t *testing.T) {
	b := newBench(t)
	b.patients()
	require.NoError(t, b.SetReader("R1"))
	b.strip.Add(b.folder("T1-R", "2004-03-01", "2006-03-01"))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	h, _ := b.Hip()
	h.Patient = "T9" // the wrong patient's code was typed
	require.NoError(t, b.SetHip(h))
	b.drain()
	require.ErrorIs(t, b.Accept(), ErrContradicts)
	require.Contains(t, study.Told(b.Accept()), `the file's patient code "T1" is not this hip's "T9"`)
	require.Nil(t, b.strip.Selected().Accepted)
	b.intake.Vouch(b.strip.Selected())
	require.NoError(t, b.Accept())
	require.NotEmpty(t, b.strip.Selected().Accepted.Warnings, "the reading says so")

	b.strip.Select(1)
	h.Patient, h.Side = "T1", measure.Left
	require.NoError(t, b.SetHip(h))
	b.drain()
	require.Equal(t, "the file says right hip, and this is the left one", b.intake.Contradiction(b.strip.Selected()))
	h.Side, h.Surgery = measure.Right, time.Date(2007, 1, 1, 0, 0, 0, 0, time.UTC)
	require.NoError(t, b.SetHip(h))
	require.Equal(t, "the film is dated before surgery", b.intake.Contradiction(b.strip.Selected()))
}

// Among films that say whose they are, one that does not may be anybody's.
func TestFilmWithoutACodeWaits(t *testing.T) {
	b := newBench(t)
	b.patients()
	b.strip.Add(b.folder("T1-R", "2004-03-01", "2006-03-01"))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	b.strip.Add(b.folder("0", "2008-03-01"))
	b.drain()
	require.Len(t, b.strip.Films(), 2)
	require.Equal(t, "no patient code", b.intake.Piles()[0].Name())
	b.intake.Take(b.intake.Piles()[0])
	b.drain()
	require.Len(t, b.strip.Films(), 3, "the reader has said that it is this hip's")
	require.Empty(t, b.intake.Piles())
}

// openOnly lets so many files be opened, and the others once goOn is called.
func (b *bench) openOnly(n int) (goOn func()) {
	open, first, rest := b.cfg.Open, make(chan struct{}, n), make(chan struct{})
	for range n {
		first <- struct{}{}
	}
	b.cfg.Open = func(path string) (*filmFile, error) {
		select {
		case <-first:
		default:
			<-rest
		}
		return open(path)
	}
	return func() { close(rest) }
}

// Stop keeps what was opened, sorted, and the others go on where the reader wishes, even
// when another hip was opened meanwhile.
func TestStopKeepsWhatWasOpened(t *testing.T) {
	b, _ := inStudy(t)
	b.patients()
	goOn := b.openOnly(3)
	b.strip.Add(append(b.folder("T3-R", "2004-05-01", "2006-05-01"), b.folder("T4-R", "2004-06-01", "2006-06-01", "2008-06-01")...))
	for len(b.intake.films) < 3 {
		b.one()
	}
	b.work.Stop()
	require.True(t, b.work.Idle())
	require.Contains(t, b.Notice(), "Go on takes up the others.")
	require.Equal(t, 3, b.intake.Found().Files)
	require.Equal(t, 2, b.intake.Found().Rest)
	require.Len(t, b.work.unopened(), 2)

	require.NoError(t, b.intake.Begin(b.intake.Piles()[0]))
	require.Len(t, b.work.unopened(), 2, "they are carried to the hip that was begun")
	goOn()
	b.drain()
	require.Len(t, b.work.unopened(), 2, "not before the reader goes on")
	b.work.Resume()
	b.drain()
	require.Empty(t, b.work.unopened())
	n := 0
	for _, f := range b.strip.Films() {
		require.Equal(t, b.strip.Films()[0].Facts.Patient, f.Facts.Patient)
		n++
	}
	for _, p := range b.intake.Piles() {
		n += len(p.Films)
	}
	require.Equal(t, 5, n, "none is lost")
	require.Zero(t, b.intake.Found().Rest)
}

// Films that nobody has claimed are in the study when it is closed.
func TestUnclaimedFilmsAreKept(t *testing.T) {
	b, path := owned(t)
	b.strip.Add(b.folder("T1-R", "2004-03-01", "2006-03-01"))
	b.drain()
	require.True(t, b.NeedsHip())
	require.NoError(t, b.Close())
	list, err := memoryFiles[path].Unsorted(t.Context())
	require.NoError(t, err)
	require.Len(t, list, 2)
	require.Equal(t, study.NotSorted, list[0].Waits)
}

// A hip that is begun and left without an answer stays among the hips, while it is open and
// when another is.
func TestHipBegunAndLeftIsStillListed(t *testing.T) {
	b := newBench(t)
	b.patients()
	b.strip.Add(b.folder("T1-R", "2004-03-01", "2006-03-01"))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	b.strip.Add(b.folder("T2-R", "2005-05-01", "2007-05-01"))
	b.drain()
	first := b.book.Hips()[0].ID
	listed := func() (names []string) {
		b.drain()
		for _, r := range b.Overview().Rows() {
			if r.State == study.HipNotBegun {
				names = append(names, fmt.Sprintf("%s: %d", r.Hip.Patient, r.Films))
			}
		}
		return names
	}
	for range 2 {
		require.NoError(t, b.intake.Begin(b.intake.Piles()[0]))
		b.drain()
		require.True(t, b.NeedsHip())
		require.Equal(t, []string{"T2: 2"}, listed(), "open, and nobody has said whose it is")
		require.NoError(t, b.OpenHip(first))
		require.Equal(t, []string{"T2: 2"}, listed(), "left")
		require.Len(t, b.strip.Films(), 2)
	}
}
