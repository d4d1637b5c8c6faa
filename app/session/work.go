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

	fetches int // from archives that are going on
	listing int // names that are being looked at, of which films may come
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

// Stop is Cancel at the reader's wish: what was read until then is sorted, and how much
// is left is said. An older study that is being brought to this version's form stays as it
// was.
func (w *Work) Stop() {
	if path, _, _ := w.s.book.Adapting(); path != "" {
		w.s.book.StopAdapting()
		return
	}
	w.Cancel()
	read, searched, rest := 0, 0, w.unopened()
	all := len(w.s.strip.films)
	for _, f := range w.s.strip.films {
		if f.step >= Loaded {
			read++
		}
		if f.step > Searching || f.Draft != nil {
			searched++
		}
	}
	if len(rest) > 0 {
		w.settled()
	}
	switch {
	case len(rest) > 0:
		w.s.Say("%s", say("work.stopped-opening", "N", read, "Of", all))
	case w.Idle():
		w.s.Say("%s", say("work.stopped-search", "N", searched, "Of", all))
	default:
		w.s.Say("%s", say("work.stopped"))
	}
}

// unopened returns the films that were named and whose files have not been read yet.
func (w *Work) unopened() (list []*Film) {
	for _, f := range w.s.strip.films {
		if !f.saved && f.Facts.SHA256 == "" && (f.step == Waiting || f.step == Loading) {
			list = append(list, f)
		}
	}
	return list
}

// carry returns what puts the films that have not been read yet back into the strip once
// another hip is in it: then they are sorted as those that are opened beside it. Where the
// work was stopped they stay until Resume.
func (w *Work) carry() (back func()) {
	list := w.unopened()
	going := map[*Film]bool{}
	for _, f := range list {
		going[f] = f.step == Loading
	}
	return func() {
		for _, f := range list {
			if w.s.strip.byPath(f.Path) != nil {
				continue
			}
			f.step, f.carried = Waiting, true
			if w.s.strip.put(f); going[f] {
				w.need(f)
			}
		}
		w.s.strip.sort()
	}
}

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
