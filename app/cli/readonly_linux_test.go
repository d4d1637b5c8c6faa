package cli_test

import (
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// readOnly makes a study with a reading list of A in a folder that nobody can write to, and goes
// there as somebody who is not root.
func readOnly(t *testing.T) *script {
	dir := t.TempDir()
	t.Chdir(dir)
	makeStudy(t, "s.linerwatch")
	s := &script{t: t}
	s.run("$ study assign s.linerwatch --reader A --seed 7")
	require.NoError(t, os.Chmod(filepath.Dir(dir), 0o755)) // the way in
	require.NoError(t, os.Chmod("s.linerwatch", 0o444))
	require.NoError(t, os.RemoveAll("s-backups"))
	require.NoError(t, os.Chmod(dir, 0o555))
	t.Cleanup(func() { require.NoError(t, os.Chmod(dir, 0o700)) })
	if os.Geteuid() == 0 {
		const nobody = 65534
		runtime.LockOSThread()
		require.NoError(t, syscall.Setfsuid(nobody))
		t.Cleanup(func() {
			require.NoError(t, syscall.Setfsuid(0))
			runtime.UnlockOSThread()
		})
	}
	return s
}

// A study that cannot be written is judged all the same, and what its trail does not keep is said.
func TestStudyThatCannotBeWritten(t *testing.T) {
	free := t.TempDir()
	require.NoError(t, os.Chmod(free, 0o777))
	out := filepath.Join(free, "p.pdf")
	s := readOnly(t)
	before, err := os.ReadFile("s.linerwatch")
	require.NoError(t, err)
	s.run(`
$ agree s.linerwatch --format csv
err Subjects: 4 films of 1 hips.
err blinded lists are being read (L1)
err the audit trail does not keep that this was told:
out ICC
$ agree s.linerwatch --medial
out variance components
$ report patient s.linerwatch --hip H2 --out ` + out + `
err the audit trail does not keep that this was told:
exists ` + out)
	after, err := os.ReadFile("s.linerwatch")
	require.NoError(t, err)
	require.Equal(t, before, after)
	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	require.Len(t, entries, 1)
}
