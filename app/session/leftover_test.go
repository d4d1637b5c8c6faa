package session

import (
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

// anEarlier writes the study of a step of migration to path, as an earlier version left it.
func anEarlier(t *testing.T, step int, path string) {
	t.Helper()
	in, err := os.Open(filepath.Join("..", "store", "testdata", fmt.Sprintf("step%d.study.gz", step)))
	require.NoError(t, err)
	z, err := gzip.NewReader(in)
	require.NoError(t, err)
	data, err := io.ReadAll(z)
	require.NoError(t, err)
	require.NoError(t, in.Close())
	require.NoError(t, os.WriteFile(path, data, 0o600))
}

// left is a bench with a study of its own on the disk, and a leftover of an earlier
// version with the drafts of two films of P-017 right.
func left(t *testing.T) (b *bench, file string) {
	b, _ = owned(t)
	b.cfg.Studies = store.Files()
	file = filepath.Join(t.TempDir(), "unfinished"+study.FileExt)
	anEarlier(t, 6, file)
	b.cfg.Leftovers = []string{filepath.Join(filepath.Dir(file), "none"), file}
	return b, file
}

// takeUp takes up what is left, and returns it.
func (b *bench) takeUp() Leftover {
	b.t.Helper()
	l, ok := b.leftover()
	require.True(b.t, ok)
	err := context.Canceled
	b.book.TakeUp(l, func(e error) { err = e })
	b.drain()
	require.NoError(b.t, err)
	return l
}

// editedIn returns the drafts of a hip of the open study.
func (b *bench) editedIn(hip string) []study.Draft {
	list, err := b.book.store.Drafts(b.t.Context(), hip)
	require.NoError(b.t, err)
	return list
}

// Drafts that an earlier version kept without a study are taken into one, with their hip
// and its films, and not offered again; their file stays.
func TestLeftoverIsTakenUp(t *testing.T) {
	b, file := left(t)
	l := b.takeUp()
	require.Equal(t, []string{"P-017 right"}, l.Hips)
	require.Equal(t, 2, l.Films)
	require.Equal(t, b.cfg.StudyPath, b.book.Path(), "where nothing is open the reader's own study is")
	h, known := b.Hip()
	require.True(t, known)
	require.Equal(t, "P-017 right", h.Label())
	require.Equal(t, 6.2, h.Implant.LinerMM)
	require.Equal(t, 2, b.strip.Unsaved(), "they are shown as changed")
	require.Len(t, b.strip.Films(), 4, "with the films that were merely open")
	require.NotEmpty(t, h.Baseline)
	require.Equal(t, "sha1", b.strip.ByID(h.Baseline).Facts.SHA256)
	require.Contains(t, b.Notice(), "Nothing of it has been accepted yet")
	_, again := b.leftover()
	require.False(t, again)
	require.NoFileExists(t, file)
	kept, err := filepath.Glob(filepath.Join(filepath.Dir(file), "*-unfinished"+study.FileExt))
	require.NoError(t, err)
	require.Len(t, kept, 1)
}

// Where the open study has the hip, they become that hip's, and no second one is made. A
// draft of the study's own is not written over.
func TestLeftoverOfAHipOfTheStudy(t *testing.T) {
	b, file := left(t)
	b.takeUp()
	h, _ := b.Hip()
	mine := b.editedIn(h.ID)[0]
	mine.Outlines = []byte(`{"Head":{"At":{"X":1,"Y":2,"R":3}}}`)
	require.NoError(t, b.book.store.SaveDraft(t.Context(), mine))
	anEarlier(t, 6, file)
	b.takeUp()
	require.Len(t, b.book.Hips(), 1)
	list := b.editedIn(h.ID)
	require.Len(t, list, 2)
	require.Contains(t, [][]byte{list[0].Outlines, list[1].Outlines}, mine.Outlines)
}

func TestLeftoverIsPutAside(t *testing.T) {
	b, file := left(t)
	l, ok := b.leftover()
	require.True(t, ok)
	path, err := b.book.PutAside(l)
	require.NoError(t, err)
	require.FileExists(t, path)
	require.NoFileExists(t, file)
	_, ok = b.leftover()
	require.False(t, ok)
}

// One that cannot be read is told, and stays as it is.
func TestLeftoverThatCannotBeRead(t *testing.T) {
	b, file := left(t)
	require.NoError(t, os.WriteFile(file, []byte("damaged"), 0o600))
	_, ok := b.leftover()
	require.False(t, ok)
	require.Contains(t, b.Notice(), "Unfinished work of an earlier version is in "+file)
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, "damaged", string(data))
}
