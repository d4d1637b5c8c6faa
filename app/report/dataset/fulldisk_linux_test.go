package dataset_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
)

// fullDisk tells the child how long a file may become, which stands for a disk that is full.
const fullDisk = "LINERWATCH_TEST_FULL_DISK"

// narrowed has no file of this program become longer than it is told.
func narrowed() error {
	n, err := strconv.ParseUint(os.Getenv(fullDisk), 10, 64)
	if err != nil {
		return nil // it is not told
	}
	// The runtime takes SIGXFSZ for nothing, so that a write is refused with EFBIG.
	return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: n, Max: n})
}

// Where a file of an export can grow no more nothing of it is left, what was there stays, and one
// line says why.
func TestExportToAFullDisk(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	for _, most := range []int{0, 1, 4096, 20000, 100000} {
		dir := t.TempDir()
		out := filepath.Join(dir, "out")
		for _, before := range []string{"", "before"} {
			if before != "" {
				_, err := dataset.Save(t.Context(), many(2), out, report.KeepOld, dataset.Options{Version: before})
				require.NoError(t, err)
			}
			cmd := exec.Command(self)
			cmd.Env = append(os.Environ(), killedExport+"="+out, killedVersion+"=after", fullDisk+"="+strconv.Itoa(most))
			said, err := cmd.Output()
			require.Error(t, err, "with %d bytes: %s", most, said)
			require.Contains(t, string(said), "refused ")
			require.Contains(t, string(said), "file too large")
			require.Equal(t, 2, strings.Count(string(said), "\n"), "begun, and one line that says why: %s", said)
			version, _ := wholePackage(out)
			require.Equal(t, before, version)
			list, err := os.ReadDir(dir)
			require.NoError(t, err)
			require.LessOrEqual(t, len(list), 1, "nothing beside")
		}
	}
}

// vanishing is a study during the export of which a folder is lost.
type vanishing struct {
	*source
	lose func() error
}

func (v vanishing) Records(ctx context.Context, each func(study.Record) error) error {
	n := 0
	return v.source.Records(ctx, func(r study.Record) error {
		if n++; n == 5 {
			if err := v.lose(); err != nil {
				return err
			}
		}
		return each(r)
	})
}

// A folder that is lost in the middle of an export, as with its drive, is told; an export is not
// said to be written, and what was there is as it was once the folder is back.
func TestExportToAVanishedDrive(t *testing.T) {
	drive := filepath.Join(t.TempDir(), "drive")
	require.NoError(t, os.Mkdir(drive, 0o700))
	out := filepath.Join(drive, "out")
	_, err := dataset.Save(t.Context(), many(2), out, report.KeepOld, dataset.Options{Version: "before"})
	require.NoError(t, err)
	away := drive + " away"
	from := vanishing{many(10), func() error { return os.Rename(drive, away) }}
	_, err = dataset.Save(t.Context(), from, out, report.Replace, dataset.Options{Version: "after"})
	require.Error(t, err)
	require.NotContains(t, err.Error(), "\n", "one line")
	require.NoError(t, os.Rename(away, drive))
	version, err := wholePackage(out)
	require.NoError(t, err)
	require.Equal(t, "before", version)
	list, err := os.ReadDir(drive)
	require.NoError(t, err)
	for _, e := range list {
		require.True(t, e.Name() == "out" || strings.HasPrefix(e.Name(), "."), e.Name())
	}
}
