package session

import (
	"context"
	"runtime"

	"linerwatch/app/session/jobs"
)

// Work is what goes on in the background: films read and searched, and whatever else
// is put into its queue.
type Work struct {
	s      *Session
	queue  *jobs.Queue
	joined joined
}

// The background jobs that may run at once: those that are counted, no more than
// memory holds films being read, and those that the reader needs by the way: a film
// read again, an outline refined, the table of hips.
const (
	jobsAtOnce  = 4
	asideAtOnce = 3
)

// open sets up the queue.
func (w *Work) open(s *Session) {
	w.s = s
	w.queue = jobs.New(s.cfg.Post, w.worked, min(runtime.NumCPU(), jobsAtOnce), asideAtOnce)
}

// Work returns what goes on in the background.
func (s *Session) Work() *Work { return &s.work }

// Progress returns how many background jobs are done, and of how many; 0 of 0
// where nothing goes on.
func (w *Work) Progress() (done, total int) { return w.queue.Progress() }

// worked tells of progress.
func (w *Work) worked() {
	if _, total := w.Progress(); total == 0 {
		w.s.course.renewDue()
	}
	w.s.changed(WorkChanged | FilmsChanged)
}

// Cancel stops the background work. Films not reached stay as they are and can
// be taken up again with Resume.
func (w *Work) Cancel() { w.queue.Cancel() }

// Resume takes up what Cancel stopped.
func (w *Work) Resume() {
	for _, f := range w.s.strip.films {
		w.need(f)
	}
}

// Idle reports whether films wait that Resume would take up.
func (w *Work) Idle() bool {
	if _, total := w.Progress(); total > 0 {
		return false
	}
	for _, f := range w.s.strip.films {
		if f.step == Waiting || f.step == Loaded && f.Draft == nil && w.s.hipKnown {
			return true
		}
	}
	return false
}

// start works on f in the background: the selected film goes first, the others in
// the order in which they were asked for. Where the work is cancelled f is in state
// before again, from which Resume goes on.
func (w *Work) start(f *Film, before State, run func(ctx context.Context) (apply func())) {
	during := f.step
	w.queue.Start(jobs.Job{
		For:   f,
		Run:   func(ctx context.Context, _ jobs.Step) func() { return run(ctx) },
		Begun: func() { f.inHand = true },
		Dropped: func() {
			if f.step == during {
				f.step = before
			}
		},
	})
}
