package study

import (
	"cmp"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
)

// ListPlan says what reading lists are made of.
type ListPlan struct {
	Readers []string
	Seed    uint64
	Share   float64 // of the films that each reader reads twice, 0 to 1
	Gap     int     // films between the two readings of one, at least
	Days    int     // days between them, at least
	Start   ListStart
	Shows   bool
	Doubles [][2]string // IDs of films that are a double examination though their dates differ
}

// MakeLists returns a list for each reader of the plan, over every film of the records that
// nobody has left out for all, without IDs. The same records and the same plan give the same
// lists on every machine.
func MakeLists(records []Record, plan ListPlan) ([]List, error) {
	targets, err := targetsOf(records, plan.Doubles)
	if err == nil {
		err = plan.check(len(targets))
	}
	if err != nil {
		return nil, err
	}
	var out []List
	for _, reader := range plan.Readers {
		l := List{Reader: reader, Kind: ReadList, Seed: plan.Seed, Share: plan.Share, Gap: plan.Gap, Days: plan.Days,
			Start: plan.Start, Shows: plan.Shows}
		l.Places = shuffled(targets, plan, random(plan.Seed, reader))
		out = append(out, l)
	}
	return out, nil
}

// random is the source of a reader's order: PCG-DXSM of the seed and the FNV-1a hash of the
// reader's code.
func random(seed uint64, reader string) *rand.Rand {
	h := fnv.New64a()
	_, _ = h.Write([]byte(reader)) // never fails
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// targetsOf returns what there is to read, in order of hip and film.
func targetsOf(records []Record, doubles [][2]string) ([]Place, error) {
	var out []Place
	pair := map[string]string{}
	for _, r := range records {
		for _, f := range r.Films {
			if f.Waits == Unreadable || r.unread(f.ID) {
				continue
			}
			out = append(out, Place{HipID: r.Hip.ID, FilmID: f.ID, Occasion: 1, Double: r.double(f)})
			pair[f.ID] = r.Hip.ID
		}
	}
	for _, d := range doubles {
		if pair[d[0]] == "" || pair[d[0]] != pair[d[1]] || d[0] == d[1] {
			return nil, NewError("blind.no-double", Values{"One": d[0], "Other": d[1]})
		}
		for i := range out {
			if out[i].FilmID == d[0] || out[i].FilmID == d[1] {
				out[i].Double = d[0]
			}
		}
	}
	slices.SortFunc(out, func(a, b Place) int { return cmp.Or(cmp.Compare(a.HipID, b.HipID), cmp.Compare(a.FilmID, b.FilmID)) })
	return out, nil
}

// double names the double examination that a film of the record is one of: films of one day
// and one view.
func (r Record) double(f Film) string {
	first, n := "", 0
	for _, g := range r.Films {
		if !g.Date().IsZero() && g.Date().Equal(f.Date()) && g.View() == f.View() && !r.unread(g.ID) {
			if n++; first == "" {
				first = g.ID
			}
		}
	}
	if n < 2 {
		return ""
	}
	return first
}

// check refuses a plan that no list can be made by, for n films.
func (p ListPlan) check(n int) error {
	seen := map[string]bool{}
	for _, r := range p.Readers {
		if ReaderFault(r) || seen[r] {
			return NewError("blind.reader", Values{"Reader": r})
		}
		seen[r] = true
	}
	switch {
	case len(p.Readers) == 0:
		return NewError("blind.no-reader", nil)
	case n == 0:
		return NewError("blind.no-films", nil)
	case !(p.Share >= 0 && p.Share <= 1):
		return NewError("blind.share", Values{"Share": 100 * p.Share})
	case p.Gap < 0 || p.Days < 0 || p.Share > 0 && p.Gap > n-1:
		return NewError("blind.gap", Values{"Gap": float64(p.Gap), "N": float64(n)})
	case p.Start != StartBlank && p.Start != StartProposal:
		return NewError("blind.start", Values{"Start": string(p.Start)})
	}
	return nil
}

// shuffled returns the targets in random order, a share of them a second time, with at least
// Gap others between the two.
//
// Which are repeated is random since their order is: where there is room, any of those that
// lie Gap films before the end, each at a random place from there on; else the first ones,
// after all others, in blocks so short that a block's order may be random.
func shuffled(targets []Place, plan ListPlan, rng *rand.Rand) []Place {
	first := slices.Clone(targets)
	rng.Shuffle(len(first), func(i, j int) { first[i], first[j] = first[j], first[i] })
	n, k := len(first), int(math.Ceil(plan.Share*float64(len(first))-1e-9))
	after := make([][]Place, n+1) // repeats, by how many firsts come before them
	again := func(i, slot int) {
		p := first[i]
		p.Occasion = 2
		after[slot] = append(after[slot], p)
	}
	room := n - plan.Gap
	if k <= room {
		for _, i := range rng.Perm(room)[:k] {
			slot := i + 1 + plan.Gap
			again(i, slot+rng.IntN(n-slot+1))
		}
	} else {
		for from := 0; from < k; from += room {
			for _, j := range rng.Perm(min(room, k-from)) {
				again(from+j, n)
			}
		}
	}
	out := make([]Place, 0, n+k)
	for i := range n + 1 {
		out = append(out, after[i]...)
		if i < n {
			out = append(out, first[i])
		}
	}
	return out
}

// ReaderFault reports whether text cannot be a reader's code: one to twelve letters, digits,
// dots or hyphens.
func ReaderFault(code string) bool {
	if code == "" || len(code) > 12 {
		return true
	}
	for _, r := range code {
		if !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '.' || r == '-') {
			return true
		}
	}
	return false
}
