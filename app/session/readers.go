package session

import (
	"context"
	"slices"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// Counts returns the rule by which readings count.
func (b *Book) Counts() study.Rule { return b.counts }

// Readers returns the codes of those who have read films of the hip, in the order
// of their first reading.
func (b *Book) Readers() []string {
	var all []study.Reading
	for _, f := range b.s.strip.films {
		all = append(all, f.Readings...)
	}
	slices.SortStableFunc(all, func(a, b study.Reading) int { return a.At.Compare(b.At) })
	return study.Record{Readings: all}.Readers()
}

// SetCounts makes the trend of the readings that a rule counts, as one named step. The study
// file remembers it. Films of which none counts are shown with the program's proposal.
func (b *Book) SetCounts(reader study.Rule) error {
	if reader == b.counts {
		return nil
	}
	before := b.counts
	if err := b.applyCounts(reader); err != nil {
		return err
	}
	name := study.Note{Code: "step.count", Values: study.Values{"Rule": study.RuleWords(reader)}}
	b.s.history.record(change{name: name, again: func(undo bool) error {
		if undo {
			return b.applyCounts(before)
		}
		return b.applyCounts(reader)
	}})
	return nil
}

// CountsWords says whose readings count.
func CountsWords(reader string) string {
	return study.RuleWords(reader)
}

// otherwise says that a reading which was just accepted is not what counts, where that is so.
func (b *Book) otherwise(f *Film, readingID string) string {
	if f.Accepted != nil && (f.Accepted.ID == readingID || slices.Contains(f.Accepted.Of, readingID)) {
		return ""
	}
	return study.NoteWords(study.Note{Code: "rule.otherwise", Values: study.Values{"Rule": study.RuleWords(b.counts)}})
}

func (b *Book) applyCounts(reader string) error {
	if err := batch.SetCounts(context.Background(), b.store, reader, b.s.stamp()); err != nil {
		return err
	}
	b.counts = reader
	for _, f := range b.s.strip.films {
		b.stand(f)
		b.s.work.need(f)
	}
	b.s.overview.outdatedAll() // other readings count in every hip
	b.s.course.renew()
	b.s.changed(Everything)
	return nil
}

// stand shows the reading of f that counts, or the program's proposal where none
// does; outlines that the reader has changed stay.
func (b *Book) stand(f *Film) {
	f.Accepted = f.standing(b.counts)
	if !f.changed {
		f.Draft = f.found()
		f.turn++
	}
}

// standing returns what counts by a rule of the film's measured readings.
func (f *Film) standing(rule study.Rule) *study.Reading {
	measured := slices.DeleteFunc(slices.Clone(f.Readings), func(r study.Reading) bool { return r.Status != study.Measured })
	return study.Counting(measured, rule)
}

// own returns the reader's last measured reading of the film that is not withdrawn, of those
// that are of no list; nil where there is none.
func (f *Film) own(reader string) *study.Reading {
	for i := len(f.Readings) - 1; i >= 0; i-- {
		if r := &f.Readings[i]; r.Stands() && r.Status == study.Measured && r.Reader == reader && r.Listed.List == "" {
			return r
		}
	}
	return nil
}

// ownID is the ID of the reading that own returns, or "".
func (f *Film) ownID(reader string) string {
	if r := f.own(reader); r != nil {
		return r.ID
	}
	return ""
}

// loadCounts reads from the study whose readings count.
func (b *Book) loadCounts() error {
	reader, err := batch.CountsOf(context.Background(), b.store)
	b.counts = reader
	return err
}
