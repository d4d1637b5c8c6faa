package jobs

import (
	"context"
	"slices"
	"sync"
	"time"
)

// Step tells how far a job has come: done steps of so many.
type Step = func(done, of int)

// Job is one piece of work.
type Job struct {
	// For is what the job is for, such as a film: it can be preferred and cancelled
	// by it. It must be comparable; nil is for nothing in particular.
	For any
	// Aside marks a job that is not counted and does not wait behind those that are.
	Aside bool
	// Run does the work on another goroutine and returns what is then done on the
	// owner's, nil for nothing. It may tell how far it has come by step.
	Run func(ctx context.Context, step Step) (apply func())
	// Begun and Dropped are called on the owner's goroutine when the job leaves the
	// line to be run, and when it is cancelled; nil is allowed.
	Begun, Dropped func()
}

// state is where a job stands.
type state int

const (
	waiting state = iota
	running
	ended // applied or dropped
)

// job is a Job in a Queue.
type job struct {
	Job
	line  *line
	state state
	ctx   context.Context
	stop  context.CancelFunc

	done, of int // steps within it; guarded by Queue.lock
}

// result is what the owner is handed: of a job, or of a timer, which has none.
type result struct {
	job   *job
	apply func()
}

// Queue is the background work of one owner, from whose goroutine alone its methods
// may be called. The zero value is not ready; use New.
type Queue struct {
	post    func(func())
	changed func()

	counted, aside line
	of             map[any][]*job // those that wait or run, by what they are for
	first          any
	done, total    int
	told           [2]int // progress when changed was called last

	lock   sync.Mutex // guards what follows, which goroutines of jobs reach
	ready  []result
	posted bool // deliver is on its way
	closed bool

	timers map[*time.Timer]bool // of the owner; those that have not ended
	wait   sync.WaitGroup
}

// New returns an empty queue. Post runs a function later on the owner's goroutine;
// changed is called there when progress has changed, once for all results that came
// together. At most limit counted jobs run at once, and at most besides aside.
func New(post func(func()), changed func(), limit, besides int) *Queue {
	return &Queue{post: post, changed: changed, of: map[any][]*job{}, timers: map[*time.Timer]bool{},
		counted: line{limit: max(1, limit)}, aside: line{limit: max(1, besides)}}
}

// Progress returns how many counted jobs, and steps within them, are done, and of how
// many; 0 of 0 where nothing goes on.
func (q *Queue) Progress() (done, total int) {
	done, total = q.done, q.total
	q.lock.Lock()
	defer q.lock.Unlock()
	for j := range q.counted.running {
		if j.state == running {
			done, total = done+j.done, total+j.of
		}
	}
	return done, total
}

// Prefer lets the counted jobs for what go first from now on.
func (q *Queue) Prefer(what any) { q.first = what }

// Start puts j in line and returns a function that cancels it alone. On a closed
// queue it is dropped at once.
func (q *Queue) Start(j Job) (cancel func()) {
	in := &job{Job: j, line: &q.counted}
	if j.Aside {
		in.line = &q.aside
	}
	if q.isClosed() {
		if j.Dropped != nil {
			j.Dropped()
		}
		return func() {}
	}
	if j.For != nil {
		q.of[j.For] = append(q.of[j.For], in)
	}
	if !j.Aside {
		q.total++
	}
	in.line.waiting = append(in.line.waiting, in)
	q.begin()
	q.tell()
	return func() { q.cancel([]*job{in}) }
}

// CancelFor cancels all jobs for what.
func (q *Queue) CancelFor(what any) { q.cancel(slices.Clone(q.of[what])) }

// Cancel cancels all counted jobs.
func (q *Queue) Cancel() { q.cancel(q.counted.leave()) }

// Close cancels everything and returns when no goroutine of the queue is left. What
// is started afterwards is dropped.
func (q *Queue) Close() {
	q.lock.Lock()
	q.closed = true
	q.ready = nil
	q.lock.Unlock()
	q.cancel(append(q.counted.leave(), q.aside.leave()...))
	for t := range q.timers {
		q.forget(t)
	}
	q.wait.Wait()
}

// After runs f on the owner's goroutine when d has passed, unless the function that it
// returns is called or the queue is closed before.
func (q *Queue) After(d time.Duration, f func()) (cancel func()) {
	if q.isClosed() {
		return func() {}
	}
	q.wait.Add(1)
	var t *time.Timer
	t = time.AfterFunc(d, func() {
		defer q.wait.Done()
		q.hand(result{apply: func() {
			if q.timers[t] {
				delete(q.timers, t)
				f()
			}
		}})
	})
	q.timers[t] = true
	return func() { q.forget(t) }
}

// forget stops a timer. Where it is too late for that, what it has handed over is
// dropped.
func (q *Queue) forget(t *time.Timer) {
	if q.timers[t] && t.Stop() {
		q.wait.Done()
	}
	delete(q.timers, t)
}

// tell calls changed where progress is not what it was.
func (q *Queue) tell() {
	done, total := q.Progress()
	if now := [2]int{done, total}; now != q.told {
		q.told = now
		q.changed()
	}
}

func (q *Queue) isClosed() bool {
	q.lock.Lock()
	defer q.lock.Unlock()
	return q.closed
}
