package batch_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/store"
	"linerwatch/app/study"
)

// killedBulk tells the test binary, run again as a child, which study to measure.
const killedBulk = "LINERWATCH_TEST_KILLED_BULK"

// TestKilledBulkChild is the child of TestKilledBulk: it measures the films of a study, says
// which it begins and, once that is kept, which it has done.
func TestKilledBulkChild(t *testing.T) {
	path := os.Getenv(killedBulk)
	if path == "" {
		t.Skip("runs as a child of TestKilledBulk only")
	}
	st, err := store.Files().Open(t.Context(), path, nil)
	require.NoError(t, err)
	b := bulk("0.9")
	b.Measure = func(ctx context.Context, h study.Hip, f study.Film) study.Measurement {
		_, _ = fmt.Printf("begun %s\n", f.ID)
		time.Sleep(time.Duration(1+rand.IntN(5)) * time.Millisecond)
		return invented(ctx, h, f)
	}
	b.Tell = func(s batch.Searched) { _, _ = fmt.Printf("kept %s\n", s.Film.ID) }
	_, err = b.Run(t.Context(), st)
	require.NoError(t, err)
	require.NoError(t, st.Close())
	fmt.Println("over")
}

// A program killed at random moments of bulk measuring loses no film that it has told, and
// measures none of these again.
func TestKilledBulk(t *testing.T) {
	kills := 200
	if testing.Short() {
		kills = 8
	}
	for studies := 0; kills > 0; studies++ {
		path := filepath.Join(t.TempDir(), fmt.Sprint("s", studies, study.FileExt))
		st, err := store.Files().Create(path)
		require.NoError(t, err)
		hips := filled(t, st, 10, 8)
		require.NoError(t, st.Close())
		kept, over := map[string]bool{}, false
		for !over {
			after := time.Duration(rand.IntN(60)) * time.Millisecond
			if kills == 0 {
				after = time.Hour
			}
			lines := killed(t, "TestKilledBulkChild", []string{killedBulk + "=" + path}, after)
			for _, l := range lines {
				word, id, _ := strings.Cut(l, " ")
				switch word {
				case "begun":
					require.False(t, kept[id], "film %s was kept, and is measured again", id)
				case "kept":
					kept[id] = true
				}
			}
			if over = len(lines) > 0 && lines[len(lines)-1] == "over"; !over {
				kills--
			}
		}
		st, err = store.Files().Open(t.Context(), path, nil)
		require.NoError(t, err)
		require.NoError(t, st.Check(t.Context()))
		n := 0
		for _, h := range hips {
			r := record(t, st, h)
			for i, l := range r.Links {
				require.Equal(t, study.Measured, l.Searched)
				list := r.OutlinesOf(l.FilmID)
				require.Len(t, list, 1)
				p, ok := list[0].Proposal()
				require.True(t, ok)
				require.Equal(t, invented(t.Context(), h, r.Films[i]).Head.Circle, p.Head.Fit.Circle)
				n++
			}
		}
		require.Equal(t, 80, n)
		require.NoError(t, st.Close())
	}
}

// killed runs a child, kills it some time after its first line, and returns what it said.
func killed(t *testing.T, child string, env []string, after time.Duration) (said []string) {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self, "-test.run=^"+child+"$", "-test.v=false")
	cmd.Env = append(os.Environ(), env...)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	require.NoError(t, cmd.Start())
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if len(said) == 0 {
			timer := time.AfterFunc(after, func() { _ = cmd.Process.Kill() }) // SIGKILL on Unix; it may have ended
			defer timer.Stop()
		}
		if l := lines.Text(); strings.HasPrefix(l, "begun ") || strings.HasPrefix(l, "kept ") || l == "over" {
			said = append(said, l)
		} else if l != "PASS" {
			t.Logf("the child says %s", l)
		}
	}
	if err := cmd.Wait(); err != nil {
		require.Empty(t, stderr.String())
		require.Contains(t, err.Error(), "killed")
	}
	return said
}
