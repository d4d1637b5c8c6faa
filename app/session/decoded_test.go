package session

import (
	"fmt"
	"image"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// many opens n films of a hip, of which as many as fit into keep bytes are kept.
func many(t *testing.T, n, keep int) *bench {
	b := newBench(t)
	b.cfg.KeepBytes = keep
	dir := t.TempDir()
	var paths []string
	for i := range n {
		paths = append(paths, touch(t, dir, fmt.Sprintf("20%02d-02-01.dcm", i+4)))
	}
	b.Viewer().SetViewport(800, 600, 1)
	b.strip.Add(paths)
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	b.settleFetches()
	return b
}

// settleFetches waits for films that are being read again.
func (b *bench) settleFetches() {
	b.t.Helper()
	for b.decoded.fetching != nil {
		b.one()
	}
}

func (b *bench) held() (list []int) {
	for i, f := range b.strip.films {
		if f.pixels != nil {
			list = append(list, i)
		}
	}
	return list
}

const filmBytes = 2 * filmSize * filmSize

func TestFewFilmsAreKeptDecoded(t *testing.T) {
	b := many(t, 12, 4*filmBytes)
	for _, f := range b.strip.Films() {
		require.Equal(t, Proposed, f.State(), "each was searched")
	}
	require.LessOrEqual(t, len(b.held()), 4)
	for _, i := range []int{0, 1, 5, 6, 11, 3} {
		b.strip.Select(i)
		b.settleFetches()
		held := b.held()
		require.LessOrEqual(t, len(held), 4)
		for _, k := range []int{i - 1, i, i + 1} {
			if k >= 0 && k < 12 {
				require.Contains(t, held, k, "film %d is at hand while film %d is shown", k, i)
			}
		}
	}
	b.strip.Select(8)
	require.Nil(t, b.strip.Selected().Pixels(), "a film far away comes back a little later")
	require.NotNil(t, b.strip.Selected().Draft, "its outlines are there at once")
	b.settleFetches()
	require.NotNil(t, b.strip.Selected().Pixels())
	b.Viewer().SetCompare(Wipe)
	b.settleFetches()
	require.Contains(t, b.held(), 0, "the baseline is shown beside it")
}

func TestTheNextFilmIsAtHand(t *testing.T) {
	b := many(t, 12, filmBytes)
	for range 11 {
		b.strip.Step(1)
		require.NotNil(t, b.strip.Selected().Pixels(), "stepping on waits for nothing")
		b.settleFetches()
	}
}

func TestAFilmChangedOnDiskIsNotTakenForItself(t *testing.T) {
	b := many(t, 12, filmBytes)
	open := b.cfg.Open
	b.cfg.Open = func(path string) (*dicomio.Film, error) {
		f, err := open(path)
		if err == nil {
			f.SHA256 = "another"
		}
		return f, err
	}
	b.strip.Select(6)
	b.settleFetches()
	require.Equal(t, "the file has changed since it was read", study.NoteWords(b.strip.Selected().Reason))
	require.True(t, b.strip.Selected().Unreadable())
	require.NotNil(t, b.strip.Selected().Draft)
}

func TestALostFileIsToldWhenItsFilmIsShownAgain(t *testing.T) {
	b := many(t, 12, filmBytes)
	b.cfg.Open = func(path string) (*dicomio.Film, error) { return nil, os.ErrNotExist }
	b.strip.Select(6)
	b.settleFetches()
	require.True(t, b.strip.Selected().Unreadable())
	n := 0
	for _, f := range b.strip.Films() {
		if f.Unreadable() {
			n++
		}
	}
	require.Equal(t, 3, n, "the film and its neighbours; the search ends")
}

// residentMB returns the memory of the process that is in use now, and at most so
// far, MB.
func residentMB(t *testing.T) (now, peak int) {
	data, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip("no /proc here:", err)
	}
	for line := range strings.Lines(string(data)) {
		kb := 0
		if n, _ := fmt.Sscanf(line, "VmRSS: %d kB", &kb); n == 1 {
			now = kb / 1024
		}
		if n, _ := fmt.Sscanf(line, "VmHWM: %d kB", &kb); n == 1 {
			peak = kb / 1024
		}
	}
	return now, peak
}

// TestMemoryOverManySwitches goes through 2,000 switches of 12 films of 3000 x 3000
// that are read from disk. Memory must not grow. It takes about a minute:
//
//	LINERWATCH_SWITCHES=2000 go test ./app/session -run MemoryOverManySwitches -v
func TestMemoryOverManySwitches(t *testing.T) {
	n := 60
	if v := os.Getenv("LINERWATCH_SWITCHES"); v != "" {
		_, err := fmt.Sscan(v, &n)
		require.NoError(t, err)
	} else if testing.Short() {
		t.Skip("reads large films")
	}
	paths := largeFilms(t, 12)
	queue := make(chan func(), 1000)
	s := New(Config{Post: func(f func()) { queue <- f }, Studies: inMemory})
	defer func() { require.NoError(t, s.Close()) }()
	run := func(busy func() bool) {
		for busy() {
			select {
			case f := <-queue:
				f()
			case <-time.After(30 * time.Second):
				t.Fatal("the background sent nothing")
			}
		}
	}
	s.strip.Add(paths)
	run(func() bool { _, total := s.Work().Progress(); return total > 0 })
	require.Len(t, s.strip.Films(), 12)
	var waits []time.Duration
	early := 0
	for i := range n {
		start := time.Now()
		if s.strip.Step(1); s.strip.SelectedIndex() == 11 && i%11 == 10 {
			s.strip.Select(0)
		}
		run(func() bool { return s.strip.Selected().Pixels() == nil })
		waits = append(waits, time.Since(start))
		run(func() bool { return s.decoded.fetching != nil })
		if i == n/4 {
			runtime.GC()
			early, _ = residentMB(t)
		}
	}
	runtime.GC()
	now, peak := residentMB(t)
	slices.Sort(waits)
	t.Logf("%d switches: %d MB after a quarter, %d MB at the end, at most %d MB; a switch waits %v in the median, %v at most",
		n, early, now, peak, waits[n/2].Round(time.Microsecond), waits[n-1].Round(time.Microsecond))
	require.Less(t, now, early+60, "memory grows")
	held := 0
	for _, f := range s.strip.films {
		if f.pixels != nil {
			held += len(f.pixels.Pix)
		}
	}
	require.LessOrEqual(t, held, s.cfg.KeepBytes)
}

// largeFilms writes n different films of 3000 x 3000.
func largeFilms(t *testing.T, n int) (paths []string) {
	dir := t.TempDir()
	for i := range n {
		img := image.NewGray16(image.Rect(0, 0, 3000, 3000))
		for k := 0; k < len(img.Pix); k += 2 {
			v := uint16(i*1000 + k/6000 + k%3001)
			img.Pix[k], img.Pix[k+1] = byte(v>>8), byte(v)
		}
		path := filepath.Join(dir, fmt.Sprintf("film-%02d.dcm", i))
		require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{
			Photometric: "MONOCHROME2", Pixels: img, Bits: 16, PatientCode: "T1", Date: time.Date(2004+i, 2, 1, 0, 0, 0, 0, time.UTC),
			Geometry: dicomio.Geometry{Imager: [2]float64{0.14, 0.14}},
		}))
		paths = append(paths, path)
	}
	return paths
}
