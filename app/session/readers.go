package session

import (
	"context"
	"slices"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// Counts returns whose readings the trend is made of: a reader's code, or
// study.Anyone for the latest reading of each film.
func (b *Book) Counts() string { return b.counts }

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

// SetCounts makes the trend of the readings of one reader, or of the latest of
// anyone, as one named step. The study file remembers it. Films that the reader
// has not read are shown with the program's proposal.
func (b *Book) SetCounts(reader string) error {
	if reader == b.counts {
		return nil
	}
	before := b.counts
	if err := b.applyCounts(reader); err != nil {
		return err
	}
	name := study.Note{Code: "step.count", Values: study.Values{"Reader": reader}}
	if reader == study.Anyone {
		name = study.Note{Code: "step.count-latest"}
	}
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
	if reader == study.Anyone {
		return "the latest reading of each film"
	}
	return "readings of " + reader
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

// standing returns the film's last measured reading of the reader, or of anyone,
// that is not withdrawn.
func (f *Film) standing(reader string) *study.Reading {
	for i := len(f.Readings) - 1; i >= 0; i-- {
		r := &f.Readings[i]
		if r.Stands() && r.Status == study.Measured && (reader == study.Anyone || r.Reader == reader) {
			return r
		}
	}
	return nil
}

// standingID is the ID of the reading that standing returns, or "".
func (f *Film) standingID(reader string) string {
	if r := f.standing(reader); r != nil {
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
