package session

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"

	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// SortKey is what the hips of a study are ordered by.
type SortKey int

// The orders of hips. ByRate puts the highest rate first, and hips without one last.
const (
	ByCode SortKey = iota
	ByGroup
	ByLastFilm
	ByWaiting // films that wait for a reading, most first
	ByRate
	ByMissing // most missing first
)

// Overview is the table of the hips of the study file: what is shown of it, in
// which order, and which row is pointed at.
type Overview struct {
	s *Session

	Text  string         // words that a hip must hold
	Group string         // "" for every group
	State study.HipState // "" for every state
	Sort  SortKey
	Back  bool // the other way round

	all    map[string]study.Summary
	piles  []Pile          // films that wait
	cursor string          // ID of a hip
	known  bool            // all holds every hip
	stale  map[string]bool // IDs of those that have changed since
	err    error
	busy   bool
	stop   func() // of the reading that goes on
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
	s.overview.piles = s.intake.Piles()
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
	st, counts := o.s.book.store, o.s.book.counts
	var changed []study.Hip
	for _, h := range o.s.book.hips {
		if stale[h.ID] {
			changed = append(changed, h)
		}
	}
	read := map[string]study.Summary{}
	each := func(r study.Record) error { read[r.Hip.ID] = r.Summary(counts); return nil }
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
				switch {
				case err != nil:
					o.known = false
				case whole:
					o.all = read
				default:
					maps.Copy(o.all, read)
				}
				o.s.changed(OverviewChanged)
			}
		}})
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

// Busy reports whether hips are being read, so that rows may change soon.
func (o *Overview) Busy() bool { return o.busy }

// Err returns why the study could not be read.
func (o *Overview) Err() error { return o.err }

// Total returns the number of hips before filters.
func (o *Overview) Total() int { return len(o.all) + len(o.piles) }

// summary is the pile as a row of the table.
func (p Pile) summary() study.Summary {
	s := study.Summary{Hip: study.Hip{ID: strings.TrimSpace("films of " + p.Name() + " " + string(p.Waits)), Patient: p.Patient, Side: p.Side},
		State: study.HipNotBegun, Films: len(p.Films), Unread: len(p.Films)}
	for _, f := range p.Films {
		if d := f.Date(); !d.IsZero() {
			if s.First.IsZero() {
				s.First = d
			}
			s.Last = d
		}
	}
	s.Why.Code = "waits.begun"
	if p.Hip != "" {
		s.Why.Code = "waits.taken"
	}
	if p.Waits == study.NotAP {
		s.Why.Code, s.State = "waits.other-view", study.HipAttention
		for _, f := range p.Films {
			if !slices.ContainsFunc(s.Attention, func(n study.Note) bool { return n.String() == f.Reason.String() }) {
				s.Attention = append(s.Attention, f.Reason)
			}
		}
	}
	return s
}

// Pile returns the pile that a row of the table stands for.
func (o *Overview) Pile(r study.Summary) (p Pile, ok bool) {
	i := slices.IndexFunc(o.piles, func(p Pile) bool { return p.summary().Hip.ID == r.Hip.ID })
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

// Rows returns the hips that the filters leave, in order.
func (o *Overview) Rows() []study.Summary {
	var out []study.Summary
	for _, r := range o.all {
		if o.shows(r) {
			out = append(out, r)
		}
	}
	for _, p := range o.piles {
		if r := p.summary(); o.shows(r) {
			out = append(out, r)
		}
	}
	slices.SortFunc(out, func(a, b study.Summary) int {
		c := o.compare(a, b)
		if o.Back {
			c = -c
		}
		return cmp.Or(c, cmp.Compare(a.Hip.Label(), b.Hip.Label()), cmp.Compare(a.Hip.ID, b.Hip.ID))
	})
	return out
}

func (o *Overview) compare(a, b study.Summary) int {
	switch o.Sort {
	case ByGroup:
		return cmp.Compare(a.Hip.Group, b.Hip.Group)
	case ByLastFilm:
		return a.Last.Compare(b.Last)
	case ByWaiting:
		return cmp.Or(-cmp.Compare(a.Unread, b.Unread), -cmp.Compare(a.Drafts, b.Drafts))
	case ByRate:
		switch {
		case a.Fit == nil && b.Fit == nil:
			return 0
		case a.Fit == nil:
			return 1
		case b.Fit == nil:
			return -1
		}
		return -cmp.Compare(a.Fit.Rate, b.Fit.Rate)
	case ByMissing:
		return cmp.Or(-cmp.Compare(len(a.Attention), len(b.Attention)), -cmp.Compare(len(a.Missing), len(b.Missing)))
	}
	return cmp.Compare(a.Hip.Label(), b.Hip.Label())
}

// shows reports whether the filters leave a hip. Every word must stand somewhere
// in its row.
func (o *Overview) shows(r study.Summary) bool {
	if o.Group != "" && r.Hip.Group != o.Group || o.State != "" && r.State != o.State {
		return false
	}
	m := r.Hip.Implant
	row := strings.ToLower(strings.Join(append([]string{
		r.Hip.Patient, r.Hip.Group, r.Hip.Side.String(), m.PE, m.HeadMaterial,
		study.Words(study.HeadMaterials(), m.HeadMaterial), m.Fixation, r.State.Words(), study.NoteWords(r.Why),
		strings.Join(r.Readers, " "),
	}, study.NotesWords(slices.Concat(r.Attention, r.Missing))...), " "))
	for _, word := range strings.Fields(strings.ToLower(o.Text)) {
		if !strings.Contains(row, word) {
			return false
		}
	}
	return true
}

// SortBy orders by key; by the same key again, the other way round.
func (o *Overview) SortBy(key SortKey) {
	o.Back = o.Sort == key && !o.Back
	o.Sort = key
}

// Cursor returns the place of the row pointed at among rows, -1 where there is
// none.
func (o *Overview) Cursor(rows []study.Summary) int {
	i := slices.IndexFunc(rows, func(r study.Summary) bool { return r.Hip.ID == o.cursor })
	if i < 0 && len(rows) > 0 {
		return 0
	}
	return i
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

// Beside returns the row of the table of hips that is n below that of the open hip, or
// above it for a negative n. Where the filters leave that hip out, or none is open, it is
// the first row, or the last.
func (o *Overview) Beside(n int) (row study.Summary, ok bool) {
	rows := o.Rows()
	i := slices.IndexFunc(rows, func(r study.Summary) bool { return o.s.hipKnown && r.Hip.ID == o.s.hip.ID })
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

// Next returns the first row below that of the open hip, and then from the top, whose
// films wait for a reader.
func (o *Overview) Next() (row study.Summary, ok bool) {
	rows := o.Rows()
	at := slices.IndexFunc(rows, func(r study.Summary) bool { return o.s.hipKnown && r.Hip.ID == o.s.hip.ID })
	for k := range rows {
		r := rows[(at+1+k)%len(rows)]
		if r.State != study.HipDone && r.Unread > 0 && r.Hip.ID != o.s.hip.ID {
			return r, true
		}
	}
	return row, false
}

// States counts the hips of each state, before filters.
func (o *Overview) States() map[study.HipState]int {
	n := map[study.HipState]int{}
	for _, r := range o.all {
		n[r.State]++
	}
	for _, p := range o.piles {
		n[p.summary().State]++
	}
	return n
}
