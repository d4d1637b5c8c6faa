package store

import (
	"database/sql"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// unprivileged lets the calling thread touch files as nobody until the test
// ends, where the tests run as root, whom no permission stops.
func unprivileged(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		return
	}
	const nobody = 65534
	runtime.LockOSThread()
	require.NoError(t, syscall.Setfsuid(nobody))
	t.Cleanup(func() {
		require.NoError(t, syscall.Setfsuid(0))
		runtime.UnlockOSThread()
	})
}

func TestReadOnlyFolder(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "old.study")
	db, _, _ := seeded(t, path)
	closed(t, db)
	require.NoError(t, os.Chmod(filepath.Dir(dir), 0o755)) // the way in
	require.NoError(t, os.Chmod(path, 0o644))
	require.NoError(t, os.Chmod(dir, 0o555))
	t.Cleanup(func() { require.NoError(t, os.Chmod(dir, 0o700)) })
	unprivileged(t)
	look, err := Look(t.Context(), path)
	require.NoError(t, err)
	require.NoError(t, look.Check(t.Context()))
	hips, err := look.Hips(t.Context())
	require.NoError(t, err)
	require.Len(t, hips, 1)
	r, err := look.Record(t.Context(), hips[0].ID)
	require.NoError(t, err)
	require.Len(t, r.Films, 1)
	require.NoError(t, look.Records(t.Context(), func(study.Record) error { return nil }))
	a, err := look.Audit(t.Context())
	require.NoError(t, err)
	require.Empty(t, a.Broken)
	_, err = look.SaveHip(t.Context(), hips[0], by)
	require.ErrorIs(t, err, ErrReadOnly)
	require.ErrorIs(t, look.SetSetting(t.Context(), "a", "b", by), ErrReadOnly)
	closed(t, look)
	require.Equal(t, []string{"old.study"}, names(t, dir))
	for name, make := range map[string]func(string) (*DB, error){"new.study": Create, "old.study": Open} {
		_, err := make(filepath.Join(dir, name))
		require.ErrorIs(t, err, ErrReadOnly)
		require.Equal(t, "the file or its folder cannot be written ("+name+")", study.Told(err))
	}
	require.Equal(t, []string{"old.study"}, names(t, dir))
}

// What another program has not folded in yet is read, too, from a folder that cannot be
// written.
func TestReadOnlyFolderWithALog(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "s.study")
	db, h, _ := seeded(t, path)
	tx, err := db.look.BeginTx(t.Context(), &sql.TxOptions{ReadOnly: true}) // keeps the log from being emptied
	require.NoError(t, err)
	var n int
	require.NoError(t, tx.QueryRow("SELECT count(*) FROM hip").Scan(&n))
	h.Group = "in the log"
	_, err = db.SaveHip(t.Context(), h, by)
	require.NoError(t, err)
	away := t.TempDir()
	for _, end := range []string{"", "-wal"} {
		require.NoError(t, copyLog(path+end, filepath.Join(away, "s.study"+end)))
		require.NoError(t, os.Chmod(filepath.Join(away, "s.study"+end), 0o444))
	}
	require.NoError(t, tx.Rollback())
	closed(t, db)
	require.NoError(t, os.Chmod(filepath.Dir(away), 0o755))
	require.NoError(t, os.Chmod(away, 0o555))
	t.Cleanup(func() { require.NoError(t, os.Chmod(away, 0o700)) })
	unprivileged(t)
	look, err := Look(t.Context(), filepath.Join(away, "s.study"))
	require.NoError(t, err)
	hips, err := look.Hips(t.Context())
	require.NoError(t, err)
	require.Equal(t, "in the log", hips[0].Group)
	closed(t, look)
}

// A study that another program changes while it can only be read here is not taken as
// one state.
func TestReadOnlyChangedMeanwhile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "s.study")
	db, _, _ := seeded(t, path)
	closed(t, db)
	look, err := openReadOnly(t.Context(), path)
	require.NoError(t, err)
	db = openAt(t, path)
	require.NoError(t, db.SetSetting(t.Context(), "a", "b", by))
	closed(t, db)
	require.ErrorIs(t, look.Close(), ErrChanged)
}
