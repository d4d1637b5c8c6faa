package study

import (
	"cmp"
	"math"
	"slices"
)

// AdjudicationPlan says which films go to a third reader.
type AdjudicationPlan struct {
	Limit   float64  // mm, above which two readings of a film differ
	Between []string // readers who are compared; empty for all
	Reader  string   // who adjudicates, none of those
	Seed    uint64
	Start   ListStart
	Shows   bool
}

// Differ is a film on which two readers differ.
type Differ struct {
	HipID, FilmID string
	Readers       [2]string
	MM            float64 // between the centres of the head, counted from that of the cup
}

// Differs returns the films on which first occasions of readers lie more than limit apart, for
// the hip as it is now, and each by the pair that differs most. Films that have been
// adjudicated, that are left out for all, or that nobody or one alone has measured are not
// among them.
func Differs(records []Record, limit float64, between []string) (out []Differ) {
	for _, r := range records {
		for _, f := range r.Films {
			if d := r.differ(f.ID, between); d.MM > limit && r.Exclusion(f.ID) == nil {
				out = append(out, d)
			}
		}
	}
	return out
}

// differ returns the pair of readers that differs most on a film; zero where there is none, or
// where it is adjudicated.
func (r Record) differ(filmID string, between []string) (most Differ) {
	firsts := r.firstOccasions(filmID)
	for i, a := range firsts {
		if a.adjudicates() {
			return Differ{}
		}
		for _, b := range firsts[i+1:] {
			if len(between) > 0 && !(slices.Contains(between, a.Reader) && slices.Contains(between, b.Reader)) || b.Reader == a.Reader {
				continue
			}
			if mm := apart(a.Measurement, b.Measurement); mm > most.MM {
				most = Differ{r.Hip.ID, filmID, [2]string{a.Reader, b.Reader}, mm}
			}
		}
	}
	return most
}

// firstOccasions returns each reader's first occasion of a film and its adjudication, those
// that are measured, for the hip as it is now, adjudications first.
func (r Record) firstOccasions(filmID string) (out []Reading) {
	standing := slices.DeleteFunc(r.countable(filmID), func(g Reading) bool { return !g.Stands() })
	for _, g := range occasionsOf(standing) {
		if g.Listed.Occasion > 1 {
			continue
		}
		if g.Measurement = g.For(r.Hip); g.Status == Measured {
			out = append(out, g)
		}
	}
	slices.SortStableFunc(out, func(a, b Reading) int { return cmp.Compare(rankOf(a), rankOf(b)) })
	return out
}

func rankOf(r Reading) int {
	if r.adjudicates() {
		return 0
	}
	return 1
}

// apart is how far two readings of a film lie apart, mm, by one method; where they cannot be
// read by one it is that of what was accepted.
func apart(a, b Measurement) float64 {
	if c, ok := b.By(a.How); ok {
		b = c
	}
	p, q := a.Reading.Offset, b.Reading.Offset
	return math.Hypot(p.Superior-q.Superior, p.Medial-q.Medial)
}

const noneDiffer = "blind.none-differ"

// NoneDiffer reports whether MakeAdjudication made no list since there is nothing to put on it.
func NoneDiffer(err error) bool { return err != nil && NoteOf(err).Code == noneDiffer }

// MakeAdjudication returns the list of the films on which readers differ, without an ID.
func MakeAdjudication(records []Record, plan AdjudicationPlan) (List, error) {
	switch {
	case !(plan.Limit > 0) || math.IsInf(plan.Limit, 0):
		return List{}, NewError("blind.limit", nil)
	case len(plan.Between) > 0 && !slices.ContainsFunc(plan.Between, func(r string) bool { return r != plan.Between[0] }):
		return List{}, NewError("blind.one-between", Values{"Reader": plan.Between[0]})
	case slices.Contains(plan.Between, plan.Reader):
		return List{}, NewError("blind.own-case", Values{"Reader": plan.Reader})
	}
	differ := Differs(records, plan.Limit, plan.Between)
	var targets []Place
	for _, d := range differ {
		if slices.Contains(d.Readers[:], plan.Reader) {
			return List{}, NewError("blind.own-case", Values{"Reader": plan.Reader})
		}
		targets = append(targets, Place{HipID: d.HipID, FilmID: d.FilmID, Occasion: 1})
	}
	if len(targets) == 0 {
		return List{}, NewError(noneDiffer, Values{"MM": plan.Limit})
	}
	p := ListPlan{Readers: []string{plan.Reader}, Seed: plan.Seed, Start: plan.Start, Shows: plan.Shows}
	if err := p.check(len(targets)); err != nil {
		return List{}, err
	}
	slices.SortFunc(targets, func(a, b Place) int { return cmp.Or(cmp.Compare(a.HipID, b.HipID), cmp.Compare(a.FilmID, b.FilmID)) })
	return List{Reader: plan.Reader, Kind: AdjudicateList, Seed: plan.Seed, Start: plan.Start, Shows: plan.Shows,
		Places: shuffled(targets, p, random(plan.Seed, plan.Reader))}, nil
}
