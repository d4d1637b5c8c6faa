package findings

import (
	"cmp"
	"slices"

	"linerwatch/app/study"
)

// Readers is how far the readers of a study agree, on the superior offset of head from cup,
// as the command and the page of agreement have it.
type Readers struct {
	study.StudyAgreement
	Why study.Note // nothing is told
}

// judged tells how far readers agree.
func judged(a *study.Agreeing) Readers {
	told, err := a.Judge()
	out := Readers{StudyAgreement: told}
	alone := len(told.Readers) < 2 && told.Readings == told.Films
	switch {
	case told.Readings == 0:
		out.Why = said("findings.no-reading")
	case alone:
		out.Why = said("findings.one-reader")
	case err != nil:
		out.Why = study.NoteOf(err)
	}
	return out
}

// Reading is how the films of a study were read: from which lists, and how good they are.
type Reading struct {
	Lists       []ListRead // oldest first
	Grades      []Graded   // in order of reader
	Graded      int        // films of hips with a grade
	Adjudicated int        // films of hips with an adjudication that stands
}

// ListRead is a reading list and how far it has come.
type ListRead struct {
	study.List
	Done, Repeats int // places that are read, and those that are read a second time
}

// Graded is how one reader graded films: how many have each quality, and each reason.
type Graded struct {
	Reader    string
	Films     int
	Qualities []int      // in the order of study.Qualities
	Reasons   []GradedBy // those that were given, the commonest first
}

// GradedBy is a reason, by its code, and how many films it was given for.
type GradedBy struct {
	Code string
	N    int
}

func newReading(lists []study.List) Reading {
	var out Reading
	for _, l := range lists {
		one := ListRead{List: l}
		for _, p := range l.Places {
			if p.Occasion > 1 {
				one.Repeats++
			}
		}
		out.Lists = append(out.Lists, one)
	}
	return out
}

// add takes a hip; of several grades of one reader for a film the last one holds.
func (x *Reading) add(r study.Record) {
	for i := range x.Lists {
		x.Lists[i].Done += len(x.Lists[i].DoneOf(r.Readings, r.Exclusions))
	}
	last := map[[2]string]study.Grade{}
	films, adjudicated := map[string]bool{}, map[string]bool{}
	for _, g := range r.Grades {
		last[[2]string{g.Reader, g.FilmID}], films[g.FilmID] = g, true
	}
	for _, g := range r.Readings {
		if g.Stands() && g.Listed.Kind == study.AdjudicateList {
			adjudicated[g.FilmID] = true
		}
	}
	x.Graded, x.Adjudicated = x.Graded+len(films), x.Adjudicated+len(adjudicated)
	for _, g := range last {
		x.grade(g)
	}
}

// grade counts one.
func (x *Reading) grade(g study.Grade) {
	i, ok := slices.BinarySearchFunc(x.Grades, g.Reader, func(a Graded, reader string) int { return cmp.Compare(a.Reader, reader) })
	if !ok {
		x.Grades = slices.Insert(x.Grades, i, Graded{Reader: g.Reader, Qualities: make([]int, len(study.Qualities()))})
	}
	of := &x.Grades[i]
	of.Films++
	if k := slices.IndexFunc(study.Qualities(), func(c study.Choice) bool { return c.Code == g.Quality }); k >= 0 {
		of.Qualities[k]++
	}
	if g.Reason == "" {
		return
	}
	k := slices.IndexFunc(of.Reasons, func(r GradedBy) bool { return r.Code == g.Reason })
	if k < 0 {
		k = len(of.Reasons)
		of.Reasons = append(of.Reasons, GradedBy{Code: g.Reason})
	}
	of.Reasons[k].N++
}

// done puts reasons in order.
func (x Reading) done() Reading {
	for _, g := range x.Grades {
		slices.SortFunc(g.Reasons, func(a, b GradedBy) int { return cmp.Or(b.N-a.N, cmp.Compare(a.Code, b.Code)) })
	}
	return x
}
