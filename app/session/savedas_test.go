package session

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

// onDisk are study files as the program keeps them.
var onDisk = store.Files()

// filed is a bench whose hip is in a study file on the disk.
func filed(t *testing.T) (b *bench, path string) {
	t.Helper()
	b = opened(t)
	b.cfg.Studies = onDisk
	require.NoError(t, b.SetReader("R1"))
	path = filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.book.create(path))
	require.NoError(t, b.Accept())
	return b, path
}

func TestSavedIsNotSaidOfAFileThatIsGone(t *testing.T) {
	b, path := filed(t)
	require.NoError(t, os.Remove(path))
	b.strip.Select(1)
	b.Say("")
	require.ErrorIs(t, b.Accept(), study.ErrMoved)
	require.NotContains(t, b.Notice(), "saved")
	b.strip.Select(2)
	b.Edits().Nudge(1, 0)
	mine := b.strip.Selected().Draft.Head.At

	to := filepath.Join(t.TempDir(), "other"+study.FileExt)
	require.NoError(t, b.saveAs(to))
	require.Equal(t, to, b.book.Path())
	require.NoError(t, b.Accept(), "the reader goes on there")
	require.Error(t, b.saveAs(to), "nothing is replaced")
	require.NoError(t, b.Close())

	again := newBench(t)
	again.cfg.Studies = onDisk
	require.NoError(t, again.book.open(to))
	again.drain()
	for i, f := range again.strip.Films()[:3] {
		require.Len(t, f.Readings, 1, "film %d", i)
	}
	require.Equal(t, mine, again.strip.Films()[2].Draft.Head.At)
	require.NotEmpty(t, again.strip.Films()[0].Accepted.Head.Edges, "edge points come back with the hip")
	require.NoError(t, again.Close())
}

// Of two windows on one study the later one to save does not undo what the other saved.
func TestAnotherWindowIsNotUndone(t *testing.T) {
	b, path := filed(t)
	other := newBench(t)
	other.cfg.Studies = onDisk
	require.NoError(t, other.book.open(path))
	other.drain()
	h, _ := other.Hip()
	h.Implant.LinerMM, h.Implant.PE = 8.5, "conventional"
	require.NoError(t, other.SetHip(h))

	mine, _ := b.Hip()
	mine.Group = "B"
	var conflict *study.ConflictError
	require.ErrorAs(t, b.SetHip(mine), &conflict)
	require.Equal(t, 8.5, conflict.Theirs.(study.Hip).Implant.LinerMM)
	require.Equal(t, "B", conflict.Mine.(study.Hip).Group)
	now, _ := b.Hip()
	require.Empty(t, now.Group, "nothing has changed here")
	require.NoError(t, b.OpenHip(now.ID))
	b.drain()
	now, _ = b.Hip()
	require.Equal(t, "conventional", now.Implant.PE, "as the other saved it")
	require.NoError(t, b.SetHip(func() study.Hip { now.Group = "B"; return now }()))
	require.NoError(t, other.Close())
	require.NoError(t, b.Close())
}

func TestDamageIsTold(t *testing.T) {
	b, path := filed(t)
	for i := range dates {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	require.NoError(t, b.Close())
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	for i := range 4096 {
		file[len(file)-4096+i] = 0x55
	}
	require.NoError(t, os.WriteFile(path, file, 0o600))
	again := newBench(t)
	again.cfg.Studies = onDisk
	if err := again.book.open(path); err != nil {
		require.ErrorIs(t, err, study.ErrDamaged)
		return
	}
	require.Eventually(t, func() bool {
		for len(again.queue) > 0 {
			again.one()
		}
		return again.Notice() != "" && strings.Contains(again.Notice(), "damaged")
	}, 10*time.Second, 10*time.Millisecond)
	_ = again.Close() // a damaged file may not close in order
}
