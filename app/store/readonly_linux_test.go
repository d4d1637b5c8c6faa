package store

import (
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
	for name, make := range map[string]func(string) (*DB, error){"new.study": Create, "old.study": Open} {
		_, err := make(filepath.Join(dir, name))
		require.ErrorIs(t, err, ErrReadOnly)
		require.Equal(t, "the file or its folder cannot be written ("+name+")", study.Told(err))
	}
	require.Equal(t, []string{"old.study"}, names(t, dir))
}
