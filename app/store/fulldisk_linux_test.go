package store

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
)

// TestFullDiskChild is the child of TestFullDisk: it adds readings until one cannot be
// saved, acknowledges each on standard output, and then says why.
func TestFullDiskChild(t *testing.T) {
	path := os.Getenv(childFile)
	if path == "" || os.Getenv("LINERWATCH_TEST_CHILD_FULL") == "" {
		t.Skip("runs as a child of TestFullDisk only")
	}
	db := openAt(t, path)
	hips, err := db.Hips(t.Context())
	require.NoError(t, err)
	films, err := db.Films(t.Context(), hips[0].ID)
	require.NoError(t, err)
	info, err := os.Stat(path)
	require.NoError(t, err)
	most := uint64(info.Size()) + 40*4096 // of a file, which stands for a disk that is full
	// The runtime takes SIGXFSZ for nothing, so that a write is refused with EFBIG.
	require.NoError(t, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: most, Max: most}))
	for n := 0; n < 10000; n++ {
		id := fmt.Sprintf("%d-%d", os.Getpid(), n)
		if err := db.AddReading(t.Context(), storetest.Reading(id, hips[0], films[0])); err != nil {
			fmt.Println("refused", err)
			os.Exit(0) // without closing in order
		}
		fmt.Println("ack", id)
	}
	t.Fatal("never full")
}

// Where no file can grow any more a reading is refused, and none that was acknowledged is
// lost; once there is room again, work goes on.
func TestFullDisk(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, f := seeded(t, path)
	closed(t, db)
	acked := map[string]bool{}
	for range 3 {
		cmd := exec.Command(self, "-test.run=^TestFullDiskChild$")
		cmd.Env = append(os.Environ(), childFile+"="+path, "LINERWATCH_TEST_CHILD_FULL=1")
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", out)
		refused := ""
		for line := range strings.SplitSeq(string(out), "\n") {
			if id, ok := strings.CutPrefix(line, "ack "); ok {
				acked[id] = true
			}
			if why, ok := strings.CutPrefix(line, "refused "); ok {
				refused = why
			}
		}
		require.NotEmpty(t, refused, "%s", out)
		t.Log(refused)
		db = openAt(t, path)
		require.NoError(t, db.Check(t.Context()))
		list, err := db.Readings(t.Context(), h.ID)
		require.NoError(t, err)
		there := map[string]bool{}
		for _, r := range list {
			there[r.ID] = true
		}
		for id := range acked {
			assert.True(t, there[id], "reading %s was acknowledged", id)
		}
		a, err := db.Audit(t.Context())
		require.NoError(t, err)
		require.Empty(t, a.Broken)
		id := fmt.Sprint("after ", len(acked))
		require.NoError(t, db.AddReading(t.Context(), storetest.Reading(id, h, f)))
		acked[id] = true
		closed(t, db)
	}
	t.Logf("%d readings acknowledged, none lost", len(acked))
	require.Greater(t, len(acked), 20)
}
