package jobs

import (
	"context"
	"slices"
)

// line is jobs that wait for their turn, and those of them whose turn it is.
type line struct {
	limit   int           // jobs that may run at once
	waiting []*job        // with some that have left the line out of turn
	running map[*job]bool // with those that were cancelled and have not seen it yet
}

// leave takes out of the line what waits, and returns it with what runs.
func (l *line) leave() []*job {
	list := l.waiting
	l.waiting = nil
	for j := range l.running {
		list = append(list, j)
	}
	return list
}

// next takes the job whose turn it is out of the line: a waiting one of those
// preferred, or the first; nil where none waits.
func (l *line) next(preferred []*job) *job {
	for _, j := range preferred {
		if j.line == l && j.state == waiting {
			return j
		}
	}
	for len(l.waiting) > 0 {
		j := l.waiting[0]
		l.waiting[0] = nil
		l.waiting = l.waiting[1:]
		if j.state == waiting {
			return j
		}
	}
	return nil
}

// begin runs jobs as long as there is room.
func (q *Queue) begin() {
	for _, l := range []*line{&q.counted, &q.aside} {
		for len(l.running) < l.limit {
			j := l.next(q.of[q.first])
			if j == nil {
				break
			}
			q.run(j)
		}
	}
}

func (q *Queue) run(j *job) {
	j.state = running
	j.ctx, j.stop = context.WithCancel(context.Background())
	if j.line.running == nil {
		j.line.running = map[*job]bool{}
	}
	j.line.running[j] = true
	if j.Begun != nil {
		j.Begun()
	}
	q.wait.Add(1)
	go func() {
		defer q.wait.Done()
		apply := j.Run(j.ctx, func(done, of int) { q.step(j, done, of) })
		q.hand(result{j, apply})
	}()
}

// step notes how far a job has come.
func (q *Queue) step(j *job, done, of int) {
	q.lock.Lock()
	j.done, j.of = done, of
	q.lock.Unlock()
	q.hand()
}

// hand leaves results for the owner, or tells of progress where there are none. Where
// the owner has been told and has not come yet, nothing more is posted.
func (q *Queue) hand(list ...result) {
	q.lock.Lock()
	if q.closed {
		q.lock.Unlock()
		return
	}
	q.ready = append(q.ready, list...)
	tell := !q.posted
	q.posted = true
	q.lock.Unlock()
	if tell {
		q.post(q.deliver)
	}
}

// deliver applies the results that wait, on the owner's goroutine.
func (q *Queue) deliver() {
	q.lock.Lock()
	list := q.ready
	q.ready, q.posted = nil, false
	closed := q.closed
	q.lock.Unlock()
	if closed {
		return
	}
	for _, r := range list {
		q.apply(r)
	}
	q.begin()
	q.rest()
	q.tell()
}

func (q *Queue) apply(r result) {
	if j := r.job; j != nil {
		j.stop()
		delete(j.line.running, j)
		if j.state == ended { // cancelled meanwhile
			return
		}
		q.end(j)
		if !j.Aside {
			q.done++
		}
	}
	if r.apply != nil {
		r.apply()
	}
}

// rest begins to count anew where all that was counted is done.
func (q *Queue) rest() {
	if q.done == q.total {
		q.done, q.total = 0, 0
	}
}

// drop cancels a job that has not ended.
func (q *Queue) drop(j *job) {
	if j.state == ended {
		return
	}
	if j.stop != nil {
		j.stop()
	}
	if !j.Aside {
		q.total--
	}
	q.end(j)
	q.rest()
	if j.Dropped != nil {
		j.Dropped()
	}
}

// cancel drops jobs and tells of it once. What a dropped job starts in turn stays.
func (q *Queue) cancel(list []*job) {
	for _, j := range list {
		q.drop(j)
	}
	q.tell()
}

// end takes j off the books.
func (q *Queue) end(j *job) {
	j.state = ended
	list := q.of[j.For]
	if i := slices.Index(list, j); i >= 0 {
		q.of[j.For] = slices.Delete(list, i, i+1)
	}
	if len(q.of[j.For]) == 0 {
		delete(q.of, j.For)
	}
}
