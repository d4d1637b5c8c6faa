package session

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// owned is a bench whose reader has a study of their own, which is not there yet.
func owned(t *testing.T) (b *bench, path string) {
	b = newBench(t)
	b.patients()
	path = filepath.Join(t.TempDir(), "Linerwatch", "study"+study.FileExt)
	b.cfg.StudyPath = path
	return b, path
}

func labels(t *testing.T, path string) (out []string) {
	hips, err := memoryFiles[path].Hips(t.Context())
	require.NoError(t, err)
	for _, h := range hips {
		out = append(out, h.Label())
	}
	return out
}

// A study is made when films are opened, and not by looking around; it holds the hip of
// those films and, after them, the next one.
func TestStudyIsOpenWhenFilmsAre(t *testing.T) {
	b, path := owned(t)
	b.strip.Add([]string{filepath.Join(t.TempDir(), "none")})
	b.drain()
	require.NoFileExists(t, path)
	b.strip.Add(b.folder("T1-R", "2004-03-01", "2006-03-01"))
	b.drain()
	require.Equal(t, path, b.book.Path())
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	require.Equal(t, []string{"T1 right"}, labels(t, path))
	require.Equal(t, path, b.book.Last())

	b.strip.Add(b.folder("T2-R", "2005-05-01"))
	b.drain()
	require.NoError(t, b.intake.Begin(b.intake.Piles()[0]))
	second := hip()
	second.ID, second.Patient = "", "T2"
	b.drain()
	require.NoError(t, b.SetHip(second))
	b.drain()
	require.Equal(t, []string{"T1 right", "T2 right"}, labels(t, path))
	b.waitSaved()

	// Another window has the same study open: films of a hip that it holds come with it.
	other, _ := owned(t)
	other.cfg.StudyPath = path
	other.strip.Add(other.folder("T1-R", "2010-03-01"))
	other.drain()
	h, known := other.Hip()
	require.True(t, known, "the hip is not asked for again")
	require.Equal(t, "T1 right", h.Label())
	require.Len(t, other.strip.Films(), 3)
	require.Empty(t, other.intake.Piles())
}

// Films of patients are not added to a demo.
func TestDemoTakesNoFilmsOfPatients(t *testing.T) {
	b, path := owned(t)
	demo := filepath.Join(t.TempDir(), "demo"+study.FileExt)
	st, err := createMemory(demo)
	require.NoError(t, err)
	require.NoError(t, st.SetSetting(t.Context(), "demo", "yes", study.Stamp{}))
	is, err := batch.IsDemo(t.Context(), st)
	require.NoError(t, err)
	require.True(t, is)
	require.NoError(t, b.book.open(demo))
	require.Empty(t, b.book.Last())
	b.strip.Add(b.folder("T1-R", "2004-03-01"))
	b.drain()
	require.Equal(t, path, b.book.Path())
	require.Len(t, b.strip.Films(), 1)
	require.Equal(t, demo, b.book.Recent()[1])
}

// Where the own study cannot be made, one is made beside the films; where none can, the
// reader is told, and goes on.
func TestNoPlaceForAStudyIsTold(t *testing.T) {
	b, path := owned(t)
	require.NoError(t, os.WriteFile(filepath.Dir(path), nil, 0o600)) // in place of the folder
	films := b.folder("T1-R", "2004-03-01")
	b.strip.Add(films)
	b.drain()
	require.Equal(t, filepath.Join(filepath.Dir(films[0]), "study"+study.FileExt), b.book.Path())
	require.Contains(t, b.Notice(), "What is read is kept in "+b.book.Path())

	c, _ := owned(t)
	c.cfg.StudyPath = path
	c.cfg.Studies.Create = func(string) (study.Store, error) { return nil, os.ErrPermission }
	c.strip.Add(c.folder("T1-R", "2004-03-01"))
	c.drain()
	require.Empty(t, c.book.Path())
	require.Contains(t, c.Notice(), "nothing that is read is saved before you choose a file")
	require.NotContains(t, c.Notice(), "\n")
	require.Len(t, c.strip.Films(), 1)
}

// A last study that has gone is not made anew where it was.
func TestLastStudyThatHasGone(t *testing.T) {
	b, path := owned(t)
	b.settings.Study = filepath.Join(t.TempDir(), "gone"+study.FileExt)
	b.strip.Add(b.folder("T1-R", "2004-03-01"))
	b.drain()
	require.Equal(t, path, b.book.Path())
	require.NoFileExists(t, filepath.Dir(path)+"/gone"+study.FileExt)
}

// Hips follow each other in the order of the table; one that a filter leaves out gives way
// to the first that is shown.
func TestHipsFollowEachOther(t *testing.T) {
	b, _ := owned(t)
	all := append(b.folder("T1-R", "2004-03-01"), b.folder("T2-R", "2005-05-01")...)
	b.strip.Add(append(all, b.folder("T3-R", "2006-05-01")...))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	b.look()
	row, ok := b.Overview().Beside(1)
	require.True(t, ok)
	require.Equal(t, "T2", row.Hip.Patient)
	_, ok = b.Overview().Beside(-1)
	require.False(t, ok)
	next, ok := b.Overview().Next()
	require.True(t, ok)
	require.Equal(t, "T2", next.Hip.Patient)
	require.Equal(t, 2, b.Overview().States()[study.HipNotBegun])
	b.Overview().Text = "T3"
	row, ok = b.Overview().Beside(1)
	require.True(t, ok)
	require.Equal(t, "T3", row.Hip.Patient)
}

// A draft goes with its hip: another hip can be opened over it, and it is there again.
func TestDraftOutlivesAnotherHip(t *testing.T) {
	b, path := owned(t)
	b.strip.Add(append(b.folder("T1-R", "2004-03-01"), b.folder("T2-R", "2005-05-01")...))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	b.Edits().Nudge(3, 0)
	want := b.strip.Selected().Draft.Head.At
	first := b.hip.ID
	require.NoError(t, b.intake.Begin(b.intake.Piles()[0]))
	b.drain()
	require.Len(t, draftsIn(t, memoryFiles[path]), 1)
	require.NoError(t, b.OpenHip(first))
	b.drain()
	require.Equal(t, want, b.strip.Selected().Draft.Head.At)
}

// A last study that is there and cannot be opened is told, and stays the last one: it may
// be to be had again.
func TestLastStudyThatCannotBeOpened(t *testing.T) {
	b, path := owned(t)
	held := touch(t, t.TempDir(), "held"+study.FileExt)
	b.settings.Study = held
	b.strip.Add(b.folder("T1-R", "2004-03-01"))
	b.drain()
	require.Equal(t, path, b.book.Path())
	require.Contains(t, b.Notice(), "What is read is kept in "+path)
	require.Contains(t, b.Notice(), "not a study file")
	require.Equal(t, held, b.book.Last())
}

// A new study is proposed where films would go, under a name that is free.
func TestNewStudyIsProposedWhereFilmsGo(t *testing.T) {
	b, path := owned(t)
	require.Equal(t, path, b.book.FreePath())
	require.NoError(t, b.book.fresh(b.book.FreePath()), "its folder is made, too")
	require.Equal(t, filepath.Join(filepath.Dir(path), "study-2"+study.FileExt), b.book.FreePath())
	c, _ := owned(t)
	c.cfg.StudyPath = path
	require.Equal(t, filepath.Join(filepath.Dir(path), "study-2"+study.FileExt), c.book.FreePath())
}
