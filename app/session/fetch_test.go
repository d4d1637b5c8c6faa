package session

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// locked lets no study be opened until the function that it returns is called.
func (b *bench) locked() (release func()) {
	files, free := b.cfg.Studies, make(chan struct{})
	b.cfg.Studies.Open = func(ctx context.Context, path string, tell study.Progress) (study.Store, error) {
		<-free
		return files.Open(ctx, path, tell)
	}
	return func() { close(free) }
}

// A study that another program holds keeps nobody waiting: work goes on until it is open.
func TestHeldStudyKeepsNobodyWaiting(t *testing.T) {
	b, path := filed(t)
	require.NoError(t, b.Close())
	c := newBench(t)
	c.cfg.Studies = b.cfg.Studies
	release := c.locked()
	c.cfg.StudyPath = filepath.Join(t.TempDir(), "own"+study.FileExt)
	var err error
	c.book.Open(path, func(e error) { err = e })
	c.strip.Add(c.folder("T1-R", "2019-01-01"))
	for c.Notice() != filepath.Base(path)+" is being opened …" {
		c.one()
	}
	require.Empty(t, c.book.Path())
	require.True(t, c.book.Opening())
	release()
	c.drain()
	require.NoError(t, err)
	require.Equal(t, path, c.book.Path())
	require.NotContains(t, c.Notice(), "is being opened")
	require.Len(t, c.strip.Films(), 6, "with the film that was opened meanwhile")
	require.NoFileExists(t, c.cfg.StudyPath)
}

// A window that is closed while a study is being opened leaves it closed.
func TestClosedWhileAStudyIsOpened(t *testing.T) {
	b, path := filed(t)
	require.NoError(t, b.Close())
	c := newBench(t)
	c.cfg.Studies = b.cfg.Studies
	release := c.locked()
	c.book.Open(path, func(error) { t.Error("nobody waits for it any more") })
	release()
	require.NoError(t, c.Close())
	require.False(t, c.book.Opening())
}

// What is saved while the study is written elsewhere is in the new file.
func TestSavedMeanwhileIsInTheNewFile(t *testing.T) {
	b, _ := filed(t)
	to := filepath.Join(t.TempDir(), "to"+study.FileExt)
	release := b.locked()
	done := false
	b.book.SaveAs(to, func(err error) { require.NoError(t, err); done = true })
	require.False(t, done, "it is written in the background")
	b.strip.Select(1)
	require.NoError(t, b.Accept())
	release()
	for !done {
		b.one()
	}
	require.Equal(t, to, b.book.Path())
	list, err := b.book.store.Readings(t.Context(), b.hip.ID)
	require.NoError(t, err)
	require.Len(t, list, 2)
	require.Equal(t, Accepted, b.strip.Films()[1].State())
}
