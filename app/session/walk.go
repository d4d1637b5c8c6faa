package session

import (
	"slices"

	"linerwatch/app/study"
)

// walk is the order in which one steps from hip to hip: that of the table of hips as the
// reader saw it last. What is read meanwhile moves rows of the table, and none here.
type walk struct {
	places []place
	of     shown // when it was made
}

// place is a hip's, or that of films that wait and may become a hip.
type place struct{ id, label string }

// Seen makes the order of the rows, as they are now, that in which one steps.
func (o *Overview) Seen() { o.walk, o.list.walk = walk{}, nil }

// Walk returns the rows in the order in which one steps, new ones last. They are not to be
// changed.
func (o *Overview) Walk() []study.Summary {
	rows := o.Rows()
	if o.list.walk != nil {
		return o.list.walk
	}
	if o.walk.of != o.shown {
		o.walk = walk{of: o.shown}
	}
	at := map[string]*hipRow{}
	for _, r := range o.all {
		at[r.Hip.ID] = r
	}
	for _, r := range o.heaps {
		at[r.Hip.ID] = r
	}
	before, out := slices.Clone(o.walk.places), []study.Summary(nil)
	o.walk.join(rows, at)
	for _, p := range o.walk.places {
		if r := at[p.id]; r != nil {
			out = append(out, r.Summary)
		}
	}
	if o.Lacking() {
		o.walk.places = before // the open hip has its place once it is read
	} else {
		o.list.walk = out
	}
	return out
}

// join gives each of rows a place: films that waited, and are now a hip, leave theirs to it.
// Films that are being opened are a moment in no row, and keep their place.
func (w *walk) join(rows []study.Summary, there map[string]*hipRow) {
	had, left := map[string]bool{}, map[string]int{}
	for i, p := range w.places {
		had[p.id] = true
		if there[p.id] == nil {
			left[p.label] = i
		}
	}
	for _, r := range rows {
		if had[r.Hip.ID] {
			continue
		}
		p := place{r.Hip.ID, r.Hip.Label()}
		if i, ok := left[p.label]; ok {
			w.places[i] = p
			delete(left, p.label)
		} else {
			w.places = append(w.places, p)
		}
	}
}

// here is the ID of the row of what is open: a hip, or films of which nobody has said whose
// they are; empty for neither.
func (o *Overview) here() string {
	if films := o.s.strip.films; !o.s.hipKnown && len(films) > 0 {
		return study.Pile{Kind: films[0].Kind(), Waits: study.NotSorted}.Summary().Hip.ID
	}
	return o.s.hip.ID
}

// Beside returns the row that is n steps after what is open, or before it for a negative n.
// Where the filters leave that out, or nothing is open, it is the first row, or the last.
func (o *Overview) Beside(n int) (row study.Summary, ok bool) {
	rows := o.Walk()
	i := placeOf(rows, o.here())
	switch {
	case i >= 0:
		i += n
	case n > 0:
		i = n - 1
	default:
		i = len(rows) + n
	}
	if i < 0 || i >= len(rows) {
		return row, false
	}
	return rows[i], true
}

// Next returns the first row of the table below that of what is open, and then from the
// top, whose films wait for a reader; none while some hips are still to be read.
func (o *Overview) Next() (row study.Summary, ok bool) {
	if o.part {
		return row, false
	}
	rows, here := o.Rows(), o.here()
	at := placeOf(rows, here)
	for k := range rows {
		r := rows[(at+1+k)%len(rows)]
		if r.State != study.HipDone && r.Unread > 0 && r.Hip.ID != here {
			return r, true
		}
	}
	return row, false
}

// Around tells where one can go from the open hip.
type Around struct {
	Any           bool // there are other hips
	Before, After bool // in the table of hips
	Waits         bool // another hip waits to be read
}

// Around tells it by what was read of the study, and has that read which is lacking. Until
// then every way counts as open.
func (s *Session) Around() (a Around) {
	o := &s.overview
	if s.book.path == "" {
		return a
	}
	o.gather()
	if a.Any = max(len(s.book.hips), o.Total()) > 1; !a.Any {
		return a
	}
	if o.all == nil || o.othersStale() {
		s.Overview()
	}
	if o.all == nil {
		return Around{true, true, true, true}
	}
	_, a.Before = o.Beside(-1)
	_, a.After = o.Beside(1)
	if _, a.Waits = o.Next(); o.busy {
		a.Waits = true // those that are being read may
	}
	return a
}

// othersStale reports whether hips have changed other than the one that is open, as those
// have that were left just now.
func (o *Overview) othersStale() bool {
	n := len(o.stale)
	if o.stale[o.here()] {
		n--
	}
	return n > 0
}
