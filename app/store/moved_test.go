package store

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// A file that is removed, moved or replaced under an open study is told after the next
// commit, and nothing of the study is lost.
func TestMoved(t *testing.T) {
	for name, move := range map[string]func(t *testing.T, path string){
		"removed": func(t *testing.T, path string) { require.NoError(t, os.Remove(path)) },
		"renamed": func(t *testing.T, path string) { require.NoError(t, os.Rename(path, path+".old")) },
		"replaced by an older copy": func(t *testing.T, path string) {
			b, err := os.ReadFile(path)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(path+".new", b, 0o600))
			require.NoError(t, os.Rename(path+".new", path))
		},
		"replaced by another study": func(t *testing.T, path string) {
			other := created(t, path+".new")
			closed(t, other)
			require.NoError(t, os.Rename(path+".new", path))
		},
		"its folder renamed": func(t *testing.T, path string) {
			require.NoError(t, os.Rename(filepath.Dir(path), filepath.Dir(path)+" old"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			ctx := t.Context()
			dir := filepath.Join(t.TempDir(), "in")
			require.NoError(t, os.Mkdir(dir, 0o700))
			path := filepath.Join(dir, "s.study")
			db, h, f := seeded(t, path)
			require.NoError(t, db.AddReading(ctx, storetest.Reading("before", h, f)))
			require.NoError(t, db.Check(ctx))
			move(t, path)
			err := db.AddReading(ctx, storetest.Reading("after", h, f))
			require.ErrorIs(t, err, study.ErrMoved)
			assert.Equal(t, study.Told(study.ErrMoved)+" (s.study: add reading after)", study.Told(err))
			h.Group = "kept, too"
			h, err = db.SaveHip(ctx, h, by)
			require.ErrorIs(t, err, study.ErrMoved)
			assert.Equal(t, 2, h.Revision, "to go on from")
			require.ErrorIs(t, db.Check(ctx), study.ErrMoved)
			n := 0
			require.NoError(t, db.Records(ctx, func(r study.Record) error { n += len(r.Readings); return nil }))
			assert.Equal(t, 2, n, "of the study that was opened, not of the file that took its place")

			to := filepath.Join(t.TempDir(), "saved.study")
			require.NoError(t, db.SaveAs(ctx, to))
			refuge := db.refuge
			require.FileExists(t, refuge)
			require.ErrorIs(t, db.Close(), study.ErrMoved)
			require.NoFileExists(t, refuge)
			other := openAt(t, to)
			got, err := other.Record(ctx, h.ID)
			require.NoError(t, err)
			assert.Equal(t, h, got.Hip)
			assert.Len(t, got.Readings, 2)
			closed(t, other)
		})
	}
}

func TestMovedAndClosedWithoutASave(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, f := seeded(t, path)
	require.NoError(t, os.Remove(path))
	require.ErrorIs(t, db.AddReading(t.Context(), storetest.Reading("last", h, f)), study.ErrMoved)
	err := db.Close()
	require.ErrorIs(t, err, study.ErrMoved)
	require.Contains(t, study.Told(err), db.refuge, "it is told where the study is")
	other := openAt(t, db.refuge)
	got, err := other.Readings(t.Context(), h.ID)
	require.NoError(t, err)
	require.Len(t, got, 1)
	closed(t, other)
	require.NoError(t, os.Remove(db.refuge))
}

// A plain copy of the file is whole after every commit, with the study open: here, and
// in another program.
func TestPlainCopy(t *testing.T) {
	ctx := t.Context()
	dir := t.TempDir()
	path := filepath.Join(dir, "s.study")
	db, h, f := seeded(t, path)
	second := openAt(t, path)
	require.NoError(t, second.Check(ctx))
	require.NoError(t, db.Check(ctx))
	for i := range 6 {
		writer := []*DB{db, second}[i%2]
		require.NoError(t, writer.AddReading(ctx, storetest.Reading(fmt.Sprint(i), h, f)))
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		to := filepath.Join(t.TempDir(), "copy.study")
		require.NoError(t, os.WriteFile(to, b, 0o600))
		c := openAt(t, to)
		got, err := c.Readings(ctx, h.ID)
		require.NoError(t, err)
		assert.Len(t, got, i+1)
		require.NoError(t, c.Check(ctx))
		require.NoError(t, c.AddReading(ctx, storetest.Reading("own", h, f)), "a copy is a study to go on with")
		closed(t, c)
	}
	closed(t, second)
	closed(t, db)
}

// Whoever reads for long keeps the log from being folded in; once he has ended it is.
func TestPlainCopyAfterALongRead(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, f := seeded(t, path)
	defer closed(t, db)
	require.NoError(t, db.Check(ctx))
	var n int
	reader := openAt(t, path)
	require.NoError(t, reader.Check(ctx))
	reading, err := reader.snapshotTx(ctx)
	require.NoError(t, err)
	require.NoError(t, reading.QueryRow("SELECT count(*) FROM reading").Scan(&n))
	require.NoError(t, db.AddReading(ctx, storetest.Reading("r1", h, f)), "nobody waits for a reader")
	assert.True(t, db.unfolded.Load())
	require.NoError(t, reading.Rollback())
	require.NoError(t, db.Records(ctx, func(study.Record) error { return nil }))
	assert.False(t, db.unfolded.Load())
	closed(t, reader)
}

func TestErrorsAreShort(t *testing.T) {
	ctx := t.Context()
	db, h, f := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	hash := strings.Repeat("0123456789abcdef", 4)
	for _, err := range []error{
		db.SaveDraft(ctx, study.Draft{HipID: h.ID, FilmID: hash, Kind: study.Edited, Outlines: []byte("{}")}),
		db.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: hash}, by),
		db.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: hash}),
		db.AddReading(ctx, study.Reading{ID: "r", HipID: h.ID, FilmID: hash, Measurement: study.Measurement{Film: f}}),
	} {
		require.Error(t, err)
		assert.NotContains(t, study.Told(err), hash)
		assert.NotContains(t, study.Told(err), db.path)
		assert.True(t, strings.HasSuffix(study.Told(err), ")"), "the reason comes first: %s", err)
	}
	_, err := db.SaveFilm(ctx, study.Film{ID: hash, Revision: 3}, by)
	require.ErrorIs(t, err, study.ErrUnknown)
	assert.NotContains(t, study.Told(err), hash)
}

// replacedFile tells the test binary, run again as a child, which study to write.
const replacedFile = "LINERWATCH_TEST_REPLACED_FILE"

// TestReplacedChild is the other program of TestReplacedAndWrittenByAnother.
func TestReplacedChild(t *testing.T) {
	path := os.Getenv(replacedFile)
	if path == "" {
		t.Skip("runs as a child of TestReplacedAndWrittenByAnother only")
	}
	db := openAt(t, path)
	hips, err := db.Hips(t.Context())
	require.NoError(t, err)
	films, err := db.Films(t.Context(), hips[0].ID)
	require.NoError(t, err)
	for i := range 30 {
		require.NoError(t, db.AddReading(t.Context(), storetest.Reading(fmt.Sprint("theirs ", i), hips[0], films[0])))
	}
	closed(t, db)
}

// Two files of one name, the one that was opened and the one that took its place, share
// the names of SQLite's logs; each stays whole all the same.
func TestReplacedAndWrittenByAnother(t *testing.T) {
	ctx := t.Context()
	self, err := os.Executable()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, f := seeded(t, path)
	require.NoError(t, db.Check(ctx))
	old, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, db.AddReading(ctx, storetest.Reading("before", h, f)))
	require.NoError(t, os.WriteFile(path+".new", old, 0o600))
	require.NoError(t, os.Rename(path+".new", path))

	child := exec.Command(self, "-test.run=^TestReplacedChild$")
	child.Env = append(os.Environ(), replacedFile+"="+path)
	require.NoError(t, child.Start())
	ended := make(chan error, 1)
	go func() { ended <- child.Wait() }()
	mine := 1
	for running := true; running; mine++ {
		require.ErrorIs(t, db.AddReading(ctx, storetest.Reading(fmt.Sprint("mine ", mine), h, f)), study.ErrMoved)
		select {
		case err := <-ended:
			require.NoError(t, err)
			running = false
		default:
		}
	}
	to := filepath.Join(t.TempDir(), "saved.study")
	require.NoError(t, db.SaveAs(ctx, to))
	require.ErrorIs(t, db.Close(), study.ErrMoved)
	for path, want := range map[string]int{to: mine, path: 30} {
		other := openAt(t, path)
		got, err := other.Readings(ctx, h.ID)
		require.NoError(t, err)
		assert.Len(t, got, want, filepath.Base(path))
		require.NoError(t, other.Check(ctx))
		closed(t, other)
	}
}
