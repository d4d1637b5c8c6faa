package session

import (
	"context"
	"maps"
	"slices"

	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// Overview is the table of the hips of the study file: what is shown of it, in
// which order, and which row is pointed at.
type Overview struct {
	s *Session
	shown

	all    map[string]*hipRow
	part   bool            // all holds those that have been read so far, of a study that is read for the first time
	piles  []Pile          // films that wait
	heaps  []*hipRow       // of piles
	cursor string          // ID of a hip
	known  bool            // all holds every hip
	stale  map[string]bool // IDs of those that have changed since
	err    error
	busy   bool
	stop   func() // of the reading that goes on
	list   list   // made of all this
	walk   walk
}

// outdated makes the next look read a hip again.
func (o *Overview) outdated(hip string) {
	if o.stale == nil {
		o.stale = map[string]bool{}
	}
	o.stale[hip] = true
}

// outdatedAll makes the next look read every hip again.
func (o *Overview) outdatedAll() { o.known = false }

// forget drops what was read, or is being read, of another study.
func (o *Overview) forget() {
	if o.stop != nil {
		o.stop()
	}
	*o = Overview{s: o.s}
}

// Overview returns the table of hips. It reads the study in the background where it
// has not been read yet, and of a study that was read the hips that have changed.
func (s *Session) Overview() *Overview {
	if o := &s.overview; (!o.known || len(o.stale) > 0) && !o.busy && s.book.store != nil && o.err == nil {
		s.overview.read()
	}
	s.overview.gather()
	return &s.overview
}

// Retry reads the study again after a fault.
func (o *Overview) Retry() {
	o.err, o.known = nil, false
	o.s.changed(OverviewChanged)
}

func (o *Overview) read() {
	whole, stale := !o.known, o.stale
	o.known, o.busy, o.stale = true, true, nil
	st, counts, veiled := o.s.book.store, o.s.book.counts, o.s.book.veiled
	var changed []study.Hip
	for _, h := range o.s.book.hips {
		if stale[h.ID] {
			changed = append(changed, h)
		}
	}
	read := map[string]*hipRow{}
	first, next := whole && o.all == nil, firstShown
	each := func(r study.Record) error {
		row := r.Summary(counts)
		if veiled {
			row = row.Covered()
		}
		read[r.Hip.ID] = newHipRow(row)
		if first && len(read) == next {
			o.showSoFar(st, veiled, maps.Clone(read))
			next *= 2
		}
		return nil
	}
	o.stop = o.s.work.queue.Start(jobs.Job{Aside: true, Dropped: func() { o.busy, o.known = false, false },
		Run: func(ctx context.Context, _ jobs.Step) func() {
			var err error
			if whole {
				err = st.Records(ctx, each)
			} else {
				err = recordsOf(ctx, st, changed, each)
			}
			return func() {
				o.busy, o.err = false, err
				o.part = o.part && err != nil
				if err != nil {
					o.known = false
				} else {
					o.take(read, whole)
				}
				o.s.changed(OverviewChanged)
			}
		}})
}

// firstShown is how many hips are shown of a study that is being read, before twice as
// many are, and twice as many again: enough for a screen, and read in a blink.
const firstShown = 128

// showSoFar shows hips of st while others are still read.
func (o *Overview) showSoFar(st study.Store, veiled bool, read map[string]*hipRow) {
	o.s.cfg.Post(func() {
		if o.s.book.store != st || o.s.book.veiled != veiled || !o.busy || o.all != nil && !o.part {
			return // another study, or nobody waits for it any more
		}
		o.part = true
		o.all, o.list.rows = read, nil
		o.s.changed(OverviewChanged)
	})
}

// SoFar returns how many hips of how many are shown while the others are still read; ok is
// false where all are.
func (o *Overview) SoFar() (shown, of int, ok bool) { return len(o.all), len(o.s.book.hips), o.part }

// take puts what was read in the table. It points at the same hip as before; where the
// filters leave that one out now, at the one that has come to its place.
func (o *Overview) take(read map[string]*hipRow, whole bool) {
	at := o.Cursor(o.Rows())
	if whole {
		o.all = read
	} else {
		maps.Copy(o.all, read)
	}
	o.list.rows = nil
	o.Walk() // what the reader does from now on moves nothing in it
	if rows := o.Rows(); at >= 0 && o.cursor != "" && len(rows) > 0 && placeOf(rows, o.cursor) < 0 {
		o.cursor = rows[min(at, len(rows)-1)].Hip.ID
	}
}

// gather takes the films that wait now for rows of the table.
func (o *Overview) gather() {
	o.piles = o.s.intake.open()
	heaps := make([]*hipRow, 0, len(o.piles))
	for _, p := range o.piles {
		heaps = append(heaps, newHipRow(p.Summary()))
	}
	same := func(a, b *hipRow) bool {
		return a.Hip.ID == b.Hip.ID && a.words == b.words && a.Films == b.Films && a.First.Equal(b.First) && a.Last.Equal(b.Last)
	}
	if !slices.EqualFunc(heaps, o.heaps, same) {
		o.heaps, o.list.rows = heaps, nil
	}
}

// recordsOf hands the records of hips to each.
func recordsOf(ctx context.Context, st study.Store, hips []study.Hip, each func(study.Record) error) error {
	for _, h := range hips {
		r, err := st.Record(ctx, h.ID)
		if err == nil {
			err = each(r)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// Loading reports whether the study is being read and nothing can be shown yet.
func (o *Overview) Loading() bool { return o.busy && o.all == nil }

// Lacking reports whether hips are being read, and the one that is open has no row yet, or
// its neighbours may not.
func (o *Overview) Lacking() bool {
	return o.busy && (o.all == nil || o.part || o.s.hipKnown && o.all[o.s.hip.ID] == nil)
}

// Busy reports whether hips are being read, so that rows may change soon.
func (o *Overview) Busy() bool { return o.busy }

// Err returns why the study could not be read.
func (o *Overview) Err() error { return o.err }

// Hips returns the number of hips before filters, and what is said of the films that wait.
func (o *Overview) Hips() (n int, waiting []string) { return len(o.all), study.Waiting(o.piles) }

// Total returns the number of rows before filters.
func (o *Overview) Total() int { return len(o.all) + len(o.piles) }

// Pile returns the pile that a row of the table stands for.
func (o *Overview) Pile(r study.Summary) (p Pile, ok bool) {
	i := slices.IndexFunc(o.heaps, func(h *hipRow) bool { return h.Hip.ID == r.Hip.ID })
	if i < 0 {
		return p, false
	}
	return o.piles[i], true
}

// Groups returns the groups there are, in order.
func (o *Overview) Groups() []string {
	var out []string
	for _, r := range o.all {
		if g := r.Hip.Group; g != "" && !slices.Contains(out, g) {
			out = append(out, g)
		}
	}
	slices.Sort(out)
	return out
}

// Cursor returns the place of the row pointed at among rows, -1 where there is
// none. Where it has gone that is the open hip's, which films that waited may now be of,
// and else the first.
func (o *Overview) Cursor(rows []study.Summary) int {
	i := placeOf(rows, o.cursor)
	if i < 0 && o.cursor != "" {
		i = o.open(rows)
	}
	if i < 0 && len(rows) > 0 {
		return 0
	}
	return i
}

// open returns the place of the open hip among rows, or -1.
func (o *Overview) open(rows []study.Summary) int {
	if !o.s.hipKnown {
		return -1
	}
	return placeOf(rows, o.s.hip.ID)
}

func placeOf(rows []study.Summary, id string) int {
	return slices.IndexFunc(rows, func(r study.Summary) bool { return r.Hip.ID == id })
}

// Point points at the hip with the given ID.
func (o *Overview) Point(id string) { o.cursor = id }

// Move points n rows further down, or up for a negative n.
func (o *Overview) Move(n int) {
	rows := o.Rows()
	if len(rows) == 0 {
		return
	}
	o.cursor = rows[min(max(o.Cursor(rows)+n, 0), len(rows)-1)].Hip.ID
}
