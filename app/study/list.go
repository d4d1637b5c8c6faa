package study

import (
	"slices"
	"time"
)

// List is a reading list: what one reader reads blind, in an order that nobody chose. It is
// never changed once it is made; how far it has come is told by its readings.
type List struct {
	ID     string // opaque
	Reader string
	Kind   ListKind
	Seed   uint64    // by which it was shuffled (Shuffle)
	Share  float64   // of the films that are read twice
	Gap    int       // films that lie between two readings of one, at least
	Days   int       // days that lie between them, at least
	Start  ListStart // what the reader begins with
	Shows  bool      // the numbers of a film are shown once its quality is graded
	Places []Place   // in the order in which they are read
	Made   Stamp
	Opened *Unblinding // nil while its reader is blind
}

// ListKind says what a list is for.
type ListKind string

// The kinds of list.
const (
	ReadList       ListKind = "reading"      // of a reader
	AdjudicateList ListKind = "adjudication" // of films on which two readers differ
)

// ListStart says what a reader begins a film of a list with.
type ListStart string

// The starts.
const (
	StartBlank    ListStart = "blank"    // no outlines
	StartProposal ListStart = "proposal" // what the program proposes
)

// Place is one film of a hip that a list has its reader read.
type Place struct {
	HipID    string `json:"hip"`
	FilmID   string `json:"film"`
	Occasion int    `json:"occasion"` // 1 where the reader reads it for the first time, 2 for the second
	// Double names the double examination that the film is one of, by its first film; empty
	// where it is of none. It is for the analysis, and not shown to the reader.
	Double string `json:"double,omitempty"`
}

// Listed says at which place of a list a reading was made, and how. The zero value is a
// reading of no list.
type Listed struct {
	List      string
	Kind      ListKind
	Place     int // from 1
	Occasion  int
	Start     ListStart
	Untouched bool // the program's proposal, accepted as it was
}

// Unblinding is the event that ends the blinding of a list's reader. The list is closed by
// it. Unblindings are never changed.
type Unblinding struct {
	ListID string
	Stamp
}

// ErrListClosed is the error of a reading at a place of a list whose reader is blind no longer.
var ErrListClosed = NewError("blind.closed", nil)

// ErrNoPlace is the error of a reading that is not what its list asks for at its place.
var ErrNoPlace = NewError("blind.no-place", nil)

// ErrPlaceDone is the error of a place of a list that is done already.
var ErrPlaceDone = NewError("blind.place-done", nil)

// ErrHasList is the error of a list of a reader who has one to read (List.StillRead).
var ErrHasList = NewError("blind.one-list", nil)

// At returns a place by its number, from 1.
func (l List) At(place int) (p Place, ok bool) {
	if place < 1 || place > len(l.Places) {
		return p, false
	}
	return l.Places[place-1], true
}

// Check refuses a reading of l that is not what it asks for at its place.
func (l List) Check(r Reading) error {
	p, _ := l.At(r.Listed.Place)
	if p.Occasion != r.Listed.Occasion || l.Kind != r.Listed.Kind || l.Start != r.Listed.Start {
		return ErrNoPlace
	}
	return l.check(r.Listed.Place, r.HipID, r.FilmID, r.Reader)
}

// CheckExclusion refuses a decision at a place of l that is not its reader's of that film.
func (l List) CheckExclusion(e Exclusion) error { return l.check(e.Place, e.HipID, e.FilmID, e.Reader) }

func (l List) check(place int, hip, film, reader string) error {
	p, ok := l.At(place)
	switch {
	case l.Opened != nil:
		return ErrListClosed
	case !ok || l.Reader != reader || p.HipID != hip || p.FilmID != film:
		return ErrNoPlace
	}
	return nil
}

// Done is when each place of a list was read, by its number; of withdrawn readings none.
type Done map[int]time.Time

// DoneOf returns which places of a list are read, by the readings of its reader: one that
// stands, or the decision that the film cannot be read.
func (l List) DoneOf(readings []Reading, exclusions []Exclusion) Done {
	out := Done{}
	for _, e := range exclusions {
		switch {
		case e.List != l.ID:
		case e.Code == "": // taken back
			delete(out, e.Place)
		default:
			out[e.Place] = e.At
		}
	}
	for _, r := range readings {
		if r.Listed.List == l.ID && r.Stands() {
			out[r.Listed.Place] = r.At
		}
	}
	return out
}

// Left returns how many places of a list are still to be read; none of one that is closed.
func (l List) Left(done Done) int {
	if l.Opened != nil {
		return 0
	}
	return len(l.Places) - len(done)
}

// StillRead is the error of another list of the reader who has l to read.
func (l List) StillRead() error {
	return WrapError(ErrHasList, "blind.has-list", Values{"Reader": l.Reader, "List": l.ID})
}

// Next returns the number of the place that is read next at a time: the first that is not
// done, but for one that is to wait, of a film that was read too short a time ago. Where all
// that are left are to wait, ok is false and due is when the first of them may be read; due
// is zero where none is left.
func (l List) Next(done Done, now time.Time) (place int, due time.Time, ok bool) {
	for i, p := range l.Places {
		if _, read := done[i+1]; read {
			continue
		}
		from := l.from(p, done)
		if !from.After(now) {
			return i + 1, time.Time{}, true
		}
		if due.IsZero() || from.Before(due) {
			due = from
		}
	}
	return 0, due, false
}

// from is when the place may be read: at once, or some days after the film was read first.
func (l List) from(p Place, done Done) time.Time {
	if p.Occasion < 2 || l.Days == 0 {
		return time.Time{}
	}
	i := slices.IndexFunc(l.Places, func(q Place) bool { return q.HipID == p.HipID && q.FilmID == p.FilmID && q.Occasion == p.Occasion-1 })
	return done[i+1].AddDate(0, 0, l.Days)
}
