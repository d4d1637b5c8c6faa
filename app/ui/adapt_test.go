package ui

import (
	"context"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// earlierStudies are those of d, of which one is of an earlier version until it has been
// opened: after each reading it waits for a word.
type earlierStudies struct {
	path string
	on   chan bool
	done atomic.Bool
	many int
}

func (e *earlierStudies) wrap(f study.Files) study.Files {
	open := f.Open
	f.Earlier = func(path string) bool { return path == e.path && !e.done.Load() }
	f.Open = func(ctx context.Context, path string, tell study.Progress) (study.Store, error) {
		if f.Earlier(path) {
			for i := range e.many {
				tell(i, e.many)
				select {
				case <-ctx.Done():
					return nil, ctx.Err()
				case <-e.on:
				}
			}
			e.done.Store(true)
		}
		return open(ctx, path, tell)
	}
	return f
}

// waiting is a desk with a study of an earlier version that has been begun to be opened.
func waiting(t *testing.T) (*desk, *earlierStudies) {
	d := newDesk(t)
	e := &earlierStudies{path: filepath.Join(t.TempDir(), "old"+study.FileExt), on: make(chan bool), many: 3}
	require.NoError(t, os.WriteFile(e.path, nil, 0o600))
	d.files[e.path] = new(storetest.Memory)
	d.set(openFilm, detect, e.wrap(d.studies()))
	d.openPath(e.path)
	d.drainUntil(func() bool {
		return d.status.steps.Text == "Bringing old.linerwatch to this version's form: 0 of 3 readings"
	})
	return d, e
}

// While a study is brought to this version's form the window says so and answers.
func TestEarlierStudyIsToldAndOpened(t *testing.T) {
	d, e := waiting(t)
	require.True(t, d.status.cancel.Visible())
	e.on <- true
	d.drainUntil(func() bool {
		return d.status.steps.Text == "Bringing old.linerwatch to this version's form: 1 of 3 readings"
	})
	d.turn(d.home())
	d.openPath(filepath.Join(t.TempDir(), "other"+study.FileExt))
	d.opened()
	require.True(t, d.covered(), "the window answers")
	d.press("Close")
	e.on <- true
	e.on <- true
	d.drainUntil(func() bool { return d.s.Book().Path() == e.path })
	d.drain()
	require.False(t, d.status.cancel.Visible())
}

// Stopped, it is not opened, and nothing is said to be lost.
func TestEarlierStudyIsStopped(t *testing.T) {
	d, e := waiting(t)
	d.status.cancel.OnTapped()
	d.drainUntil(func() bool { path, _, _ := d.s.Book().Adapting(); return path == "" })
	d.drain()
	require.Empty(t, d.s.Book().Path())
	require.False(t, e.done.Load())
	require.Contains(t, d.s.Notice(), "as it was")
	require.False(t, d.covered(), "it was the reader's wish")
	require.False(t, d.status.cancel.Visible())
}
