package dataset_test

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
)

// killedExport tells the test binary, run again as a child, which folder to write, and killedVersion
// what its datapackage.json says of the program.
const (
	killedExport  = "LINERWATCH_TEST_KILLED_EXPORT"
	killedVersion = "LINERWATCH_TEST_KILLED_VERSION"
)

// many are hips enough for an export that takes some time.
func many(hips int) *source {
	var list []study.Record
	for i := range hips {
		r := record()
		r.Hip.ID = fmt.Sprintf("Q7-%04d", i)
		list = append(list, r)
	}
	return kept(list...)
}

// TestMain is the child of those tests that kill one: it says when it begins to export, and once the
// export is there, or why it is not.
func TestMain(m *testing.M) {
	path := os.Getenv(killedExport)
	if path == "" {
		os.Exit(m.Run())
	}
	from := many(40)
	if err := narrowed(); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println("begun")
	if _, err := dataset.Save(context.Background(), from, path, report.Replace, dataset.Options{Version: os.Getenv(killedVersion)}); err != nil {
		fmt.Println("refused", err)
		os.Exit(1)
	}
	fmt.Println("over")
}

// A program killed at random moments of an export leaves it whole or absent, and the one that was
// there before whole: in its place, or beside it under another name.
func TestKilledExport(t *testing.T) {
	kills := 200
	if testing.Short() {
		kills = 8
	}
	whole, absent, over, left := 0, 0, 0, 0
	took := time.Duration(0)
	for n := 0; n < kills; n++ {
		dir := t.TempDir()
		out := filepath.Join(dir, "out")
		before, said := "", ""
		if n%2 == 1 { // half of them replace one
			before = "before"
			_, err := dataset.Save(t.Context(), many(2), out, report.KeepOld, dataset.Options{Version: before})
			require.NoError(t, err)
		}
		if n == 0 { // how long one takes that nobody kills
			begin := time.Now()
			require.Equal(t, "over", killed(t, out, "first", time.Minute))
			took = time.Since(begin)
			require.NoError(t, os.RemoveAll(out))
		}
		said = killed(t, out, "after", time.Duration(rand.Int64N(int64(took))))
		version, err := wholePackage(out)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			absent++
			require.NotEqual(t, "over", said)
		default:
			require.NoError(t, err, "moment %d", n)
			whole++
			require.Contains(t, []string{before, "after"}, version)
		}
		if said == "over" {
			over++
			require.Equal(t, "after", version, "what was told as written is there")
		}
		beside, err := os.ReadDir(dir)
		require.NoError(t, err)
		found := version
		for _, e := range beside {
			if e.Name() == "out" {
				continue
			}
			left++
			if v, err := wholePackage(filepath.Join(dir, e.Name())); err == nil && v == before {
				found = v
			}
		}
		require.True(t, before == "" || found != "", "the export that was there is lost")
		_, err = dataset.Save(t.Context(), many(2), out, report.Replace, dataset.Options{Version: "again"})
		require.NoError(t, err, "another is written all the same")
	}
	t.Logf("%d kills within %v each: %d folders whole, %d absent; %d programs were through; %d unfinished folders beside", kills, took, whole, absent, over, left)
	if !testing.Short() {
		require.Positive(t, absent, "some were killed in time")
	}
}

// killed runs the child, kills it some time after it begins, and returns its last word.
func killed(t *testing.T, out, version string, after time.Duration) (said string) {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), killedExport+"="+out, killedVersion+"="+version)
	pipe, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	for lines := bufio.NewScanner(pipe); lines.Scan(); {
		switch l := lines.Text(); l {
		case "begun":
			timer := time.AfterFunc(after, func() { _ = cmd.Process.Kill() }) // SIGKILL on Unix; it may have ended
			defer timer.Stop()
			said = l
		case "over":
			said = l
		default:
			t.Log("the child says", l)
		}
	}
	if err := cmd.Wait(); err != nil {
		require.Contains(t, err.Error(), "killed")
	}
	return said
}

// wholePackage returns the version of the program that wrote a package, and an error where a file
// of it is missing, not as datapackage.json has it, or one too many.
func wholePackage(dir string) (version string, err error) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile(filepath.Join(dir, "datapackage.json"))
	if err != nil {
		return "", fmt.Errorf("not described: %s", err)
	}
	var p struct {
		Program   struct{ Version string }
		Resources []struct{ Path, Hash string }
	}
	if err := json.Unmarshal(text, &p); err != nil {
		return "", err
	}
	if len(list) != len(p.Resources)+1 || len(list) != len(dataset.Files()) {
		return "", fmt.Errorf("%d files", len(list))
	}
	for _, r := range p.Resources {
		b, err := os.ReadFile(filepath.Join(dir, r.Path))
		if err != nil {
			return "", fmt.Errorf("not all there: %s", err)
		}
		if sum := sha256.Sum256(b); "sha256:"+hex.EncodeToString(sum[:]) != strings.ToLower(r.Hash) {
			return "", fmt.Errorf("%s is another", r.Path)
		}
	}
	return p.Program.Version, nil
}
