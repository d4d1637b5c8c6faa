package store

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
)

// childFile tells the test binary, run again as a child, which study to write.
const childFile = "LINERWATCH_TEST_CHILD_FILE"

// TestKilledChild is the child of TestKilled: it adds readings for ever and
// acknowledges each on standard output once AddReading has returned.
func TestKilledChild(t *testing.T) {
	path := os.Getenv(childFile)
	if path == "" {
		t.Skip("runs as a child of TestKilled only")
	}
	db := openAt(t, path)
	hips, err := db.Hips(t.Context())
	require.NoError(t, err)
	films, err := db.Films(t.Context(), hips[0].ID)
	require.NoError(t, err)
	for n := 0; ; n++ {
		id := fmt.Sprintf("%d-%d", os.Getpid(), n)
		require.NoError(t, db.AddReading(t.Context(), storetest.Reading(id, hips[0], films[0])))
		fmt.Println("ack", id)
	}
}

// A program killed in the middle of its work loses no reading that was
// acknowledged, and leaves a sound file, the first time and after that.
func TestKilled(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, f := seeded(t, path)
	closed(t, db)
	var acked []string
	for _, after := range []int{1, 7, 40, 3} {
		acked = append(acked, killAfter(t, self, path, after)...)
		db := openAt(t, path)
		got, err := db.Readings(t.Context(), h.ID)
		require.NoError(t, err)
		kept := map[string]bool{}
		for _, r := range got {
			kept[r.ID] = true
			want := storetest.Reading(r.ID, h, f)
			assert.Equal(t, want.Bare(), r, "kept whole")
			p, err := db.Points(t.Context(), r.ID)
			require.NoError(t, err)
			assert.Len(t, p.Cup.All, len(want.Cup.Edges))
		}
		for _, id := range acked {
			assert.True(t, kept[id], "reading %s was acknowledged", id)
		}
		// The child may have been killed between a commit and its
		// acknowledgement, once per kill.
		assert.LessOrEqual(t, len(got), len(acked)+4)
		var verdict string
		require.NoError(t, db.db.QueryRow("PRAGMA integrity_check").Scan(&verdict))
		assert.Equal(t, "ok", verdict)
		a, err := db.Audit(t.Context())
		require.NoError(t, err)
		require.Empty(t, a.Broken, "the trail holds")
		closed(t, db)
	}
}

// killAfter runs the child until it has acknowledged n readings, kills it, and
// returns every reading it acknowledged.
func killAfter(t *testing.T, self, path string, n int) (acked []string) {
	t.Helper()
	cmd := exec.Command(self, "-test.run=^TestKilledChild$", "-test.v=false")
	cmd.Env = append(os.Environ(), childFile+"="+path)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	require.NoError(t, cmd.Start())
	var other []string
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		id, ok := strings.CutPrefix(lines.Text(), "ack ")
		if !ok {
			other = append(other, lines.Text())
			continue
		}
		if acked = append(acked, id); len(acked) == n {
			require.NoError(t, cmd.Process.Kill()) // SIGKILL on Unix
		}
	}
	require.Error(t, cmd.Wait(), "the child ended by itself")
	require.Empty(t, other, "the child failed: %s", stderr.String())
	require.GreaterOrEqual(t, len(acked), n)
	return acked
}

// So it is when it is killed 200 times at random moments, one time after the other on the same file.
func TestKilledOften(t *testing.T) {
	if testing.Short() {
		t.Skip("starts 200 programs")
	}
	self, err := os.Executable()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, _ := seeded(t, path)
	closed(t, db)
	random := rand.New(rand.NewPCG(1, 2))
	var acked []string
	const kills = 200
	for range kills {
		acked = append(acked, killWithin(t, self, path, time.Duration(random.IntN(25000))*time.Microsecond)...)
	}
	db = openAt(t, path)
	defer closed(t, db)
	list, err := db.Readings(t.Context(), h.ID)
	require.NoError(t, err)
	kept := map[string]bool{}
	for _, r := range list {
		kept[r.ID] = true
	}
	for _, id := range acked {
		require.True(t, kept[id], "reading %s was acknowledged", id)
	}
	require.LessOrEqual(t, len(list), len(acked)+kills)
	a, err := db.Audit(t.Context())
	require.NoError(t, err)
	require.Empty(t, a.Broken)
	t.Logf("%d kills, %d readings acknowledged, %d saved", kills, len(acked), len(list))
}

// killWithin runs the child, kills it some time after its first acknowledgement, and returns every reading it
// acknowledged.
func killWithin(t *testing.T, self, path string, after time.Duration) (acked []string) {
	t.Helper()
	cmd := exec.Command(self, "-test.run=^TestKilledChild$", "-test.v=false")
	cmd.Env = append(os.Environ(), childFile+"="+path)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		id, ok := strings.CutPrefix(lines.Text(), "ack ")
		require.True(t, ok, lines.Text())
		if acked = append(acked, id); len(acked) == 1 {
			time.AfterFunc(after, func() { _ = cmd.Process.Kill() }) // has ended where that fails
		}
	}
	require.Error(t, cmd.Wait(), "the child ended by itself")
	return acked
}
