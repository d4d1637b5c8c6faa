package session

import (
	"context"
	"fmt"
	"image"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// requireNoneLeft fails where a goroutine of a session is left. One that has said that
// it is done needs a moment to be gone.
func requireNoneLeft(t testing.TB) {
	t.Helper()
	stacks, left := make([]byte, 1<<20), ""
	for range 200 {
		left = string(stacks[:runtime.Stack(stacks, true)])
		if !strings.Contains(left, "created by linerwatch/app/session") {
			return
		}
		time.Sleep(time.Millisecond)
	}
	t.Fatal("goroutines are left:\n" + left)
}

// slowly makes every step of work on a film take a while, and counts those that have
// begun and ended.
func (b *bench) slowly(d time.Duration) (begun, ended *atomic.Int64) {
	open, detect, refine := b.cfg.Open, b.cfg.Detect, b.cfg.Refine
	begun, ended = new(atomic.Int64), new(atomic.Int64)
	wait := func() {
		begun.Add(1)
		time.Sleep(d)
		ended.Add(1)
	}
	b.cfg.Open = func(path string) (*dicomio.Film, error) { wait(); return open(path) }
	b.cfg.Detect = func(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error) {
		wait()
		return detect(ctx, img, opt)
	}
	b.cfg.Refine = func(img *image.Gray16, start measure.Circle, part measure.Part) (measure.Outline, error) {
		wait()
		return refine(img, start, part)
	}
	return begun, ended
}

func TestNothingIsLeftAfterClose(t *testing.T) {
	const slow = 50 * time.Millisecond
	for _, c := range []struct {
		name string
		slow bool // a step of work on a film is under way
		do   func(b *bench)
	}{
		{"a folder being read", false, func(b *bench) { b.strip.Add([]string{b.t.TempDir()}) }},
		{"films being read", true, func(b *bench) { b.strip.Add(touchMany(b.t, 20)); b.one() }},
		{"films being searched", true, func(b *bench) {
			h := hip()
			h.Implant.HeadMM = 32
			require.NoError(b.t, b.SetHip(h))
		}},
		{"an outline being refined", true, func(b *bench) { b.Edits().RefineBoth() }},
		{"a film being read again", true, func(b *bench) {
			b.cfg.KeepBytes = 1
			b.strip.Select(4)
			b.strip.Select(0)
			require.NotNil(b.t, b.decoded.fetching)
		}},
		{"a draft to be saved", false, func(b *bench) {
			b.Edits().Nudge(1, 0)
			require.True(b.t, b.drafts.waiting)
		}},
		{"the hips of a study being read", false, func(b *bench) {
			secondHip(b, memoryFiles[b.book.Path()])
			require.True(b.t, b.Overview().busy)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, _ := inStudy(t)
			require.Equal(t, 0, b.strip.SelectedIndex())
			begun, ended := b.slowly(slow)
			c.do(b)
			for c.slow && begun.Load() == 0 {
				time.Sleep(time.Millisecond)
			}
			require.NoError(t, b.Close())
			require.Equal(t, begun.Load(), ended.Load(), "Close has waited")
			requireNoneLeft(t)
			for len(b.queue) > 0 {
				b.one() // sent before, and finds nothing to do
			}
			_, total := b.Work().Progress()
			require.Zero(t, total)
		})
	}
}

// What is cancelled goes on where it stopped, for one film and for all.
func TestCancelledWorkIsTakenUpAgain(t *testing.T) {
	b := newBench(t)
	b.slowly(time.Millisecond)
	b.Viewer().SetViewport(800, 600, 1)
	b.strip.Add(touchMany(t, 30))
	b.one() // the list of files
	b.Work().Cancel()
	_, total := b.Work().Progress()
	require.Zero(t, total)
	require.True(t, b.Work().Idle())
	for _, f := range b.strip.Films() {
		require.Contains(t, []State{Waiting, Loaded}, f.State())
	}
	b.Work().Resume()
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.one()
	b.Work().Cancel()
	require.True(t, b.Work().Idle())
	b.Work().Resume()
	gone := b.strip.Films()[29]
	require.Equal(t, Searching, gone.State())
	b.strip.Remove(29)
	require.Equal(t, Loaded, gone.State(), "a film that is taken out is not searched")
	b.drain()
	for _, f := range b.strip.Films() {
		require.Equal(t, Proposed, f.State())
	}
	b.history.Undo()
	require.Equal(t, Searching, gone.State(), "put back, it is")
	b.drain()
	require.Equal(t, Proposed, gone.State())
	require.False(t, b.Work().Idle())
}

func touchMany(t testing.TB, n int) (paths []string) {
	dir := t.TempDir()
	for i := range n {
		day := time.Date(2004, 3, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, i)
		paths = append(paths, touch(t, dir, fmt.Sprintf("%s.dcm", day.Format(time.DateOnly))))
	}
	return paths
}

// A thousand films leave the window's goroutine free: there are no more messages than
// films and steps, and what goes through all films is not done for each.
func TestAThousandFilmsKeepTheOwnerAnswering(t *testing.T) {
	b := newBench(t)
	b.Viewer().SetViewport(800, 600, 1)
	n := 1000
	if testing.Short() {
		n = 300
	}
	b.strip.Add(touchMany(t, n))
	var longest, all time.Duration
	posts, trends := 0, 0
	b.OnChange = func(c Change) {
		if c&TrendChanged != 0 {
			trends++
		}
	}
	run := func() {
		for {
			if _, total := b.Work().Progress(); total == 0 && len(b.queue) == 0 {
				return
			}
			f := <-b.queue
			start := time.Now()
			f()
			d := time.Since(start)
			longest, all = max(longest, d), all+d
			posts++
		}
	}
	run()
	require.NoError(t, b.SetHip(hip()))
	run()
	t.Logf("%d films read and searched: %d messages, %v in all, %v at most; %d trends", n, posts, all, longest, trends)
	require.LessOrEqual(t, posts, 2*n+1+trends, "one for each result, less where several come together, and one for each trend put off")
	require.Less(t, trends, n/4, "each goes through all films")
	tr, err := b.Trend()
	require.NoError(t, err)
	require.Len(t, tr.Films, n, "the last is in")
}
