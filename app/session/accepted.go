package session

import (
	"slices"

	"linerwatch/app/study"
)

// Record returns what the study keeps of the open hip: its films, every reading of
// them, and which are left out. Films that are open and not in the study yet are in it
// as films without a reading.
func (s *Session) Record() study.Record {
	r := study.Record{Hip: s.hip}
	for _, f := range s.strip.films {
		r.Films = append(r.Films, f.Film)
		for _, g := range f.Readings {
			g.Film = f.Film
			r.Readings = append(r.Readings, g)
		}
		if f.Excluded != nil {
			r.Exclusions = append(r.Exclusions, *f.Excluded)
		}
		if f.changed {
			r.Drafts++
		}
	}
	study.SortFilms(r.Films)
	slices.SortStableFunc(r.Readings, func(a, b study.Reading) int { return a.At.Compare(b.At) })
	return r
}

// Accepted returns the hip's trend from accepted readings alone, those that count,
// as the table of hips has it. The error says why there is none.
func (c *Course) Accepted() (study.Trend, error) {
	if c.accepted == nil {
		a := &acceptedTrend{}
		a.Trend, a.err = c.ofAccepted()
		c.accepted = a
	}
	return c.accepted.Trend, c.accepted.err
}

// acceptedTrend is a trend of accepted readings, or why there is none.
type acceptedTrend struct {
	study.Trend
	err error
}

func (c *Course) ofAccepted() (study.Trend, error) {
	if !c.s.hipKnown {
		return study.Trend{}, errHipUnknown
	}
	return c.s.Record().Accepted(c.s.book.counts)
}
