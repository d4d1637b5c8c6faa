package session

import (
	"context"
	"errors"
	"sync/atomic"

	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// ErrStopped is the error of a study of an earlier version whose change was stopped.
var ErrStopped = study.NewError("book.stopped-adapting", nil)

// adapting is a study of an earlier version that is being brought to this version's form.
type adapting struct {
	path     string
	stop     context.CancelFunc
	done, of atomic.Int64
	posted   atomic.Bool // what was told last has not been shown
}

// adapt calls then once the study at path can be opened without delay: at once, unless it
// is of an earlier version, which is brought to this version's form in the background
// first. Nothing is opened by it.
func (b *Book) adapt(path string, then func(error)) {
	files := b.s.cfg.Studies
	if files.Earlier == nil || !files.Earlier(path) {
		then(nil)
		return
	}
	if b.adapting != nil {
		then(study.NewError("book.adapts-another", nil))
		return
	}
	ctx, stop := context.WithCancel(context.Background())
	a := &adapting{path: path, stop: stop}
	b.adapting = a
	b.s.work.queue.Start(jobs.Job{Aside: true, Dropped: stop, Run: func(context.Context, jobs.Step) func() {
		err := adaptFile(ctx, files, path, func(done, of int) { a.tell(b.s, done, of) })
		return func() {
			stop()
			b.adapting = nil
			b.s.changed(WorkChanged)
			then(err)
		}
	}})
	b.s.changed(WorkChanged)
}

// adaptFile opens the study at path, which brings it to this version's form, and closes it.
func adaptFile(ctx context.Context, files study.Files, path string, tell study.Progress) error {
	st, err := files.Open(ctx, path, tell)
	switch {
	case errors.Is(err, context.Canceled):
		return ErrStopped
	case err != nil:
		return err
	}
	return st.Close()
}

// tell notes on any goroutine how far the change has come.
func (a *adapting) tell(s *Session, done, of int) {
	a.done.Store(int64(done))
	a.of.Store(int64(of))
	if a.posted.CompareAndSwap(false, true) {
		s.cfg.Post(func() {
			a.posted.Store(false)
			s.changed(WorkChanged)
		})
	}
}

// Adapting returns the study of an earlier version that is being brought to this version's
// form, "" where there is none, and how many of its readings are, of how many.
func (b *Book) Adapting() (path string, done, of int) {
	if a := b.adapting; a != nil {
		return a.path, int(a.done.Load()), int(a.of.Load())
	}
	return "", 0, 0
}

// StopAdapting leaves that study as it was.
func (b *Book) StopAdapting() {
	if b.adapting != nil {
		b.adapting.stop()
	}
}
