package session

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// Counts returns whose readings the trend is made of: a reader's code, or
// study.Anyone for the latest reading of each film.
func (s *Session) Counts() string { return s.counts }

// Readers returns the codes of those who have read films of the hip, in the order
// of their first reading.
func (s *Session) Readers() []string {
	var all []study.Reading
	for _, f := range s.strip.films {
		all = append(all, f.Readings...)
	}
	slices.SortStableFunc(all, func(a, b study.Reading) int { return a.At.Compare(b.At) })
	return study.Record{Readings: all}.Readers()
}

// SetCounts makes the trend of the readings of one reader, or of the latest of
// anyone, as one named step. The study file remembers it. Films that the reader
// has not read are shown with the program's proposal.
func (s *Session) SetCounts(reader string) error {
	if reader == s.counts {
		return nil
	}
	before := s.counts
	if err := s.applyCounts(reader); err != nil {
		return err
	}
	s.history.record(change{name: "count " + CountsWords(reader), again: func(undo bool) error {
		if undo {
			return s.applyCounts(before)
		}
		return s.applyCounts(reader)
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

func (s *Session) applyCounts(reader string) error {
	if err := batch.SetCounts(context.Background(), s.store, reader); err != nil {
		return err
	}
	s.counts = reader
	for _, f := range s.strip.films {
		s.stand(f)
		s.work.need(f)
	}
	s.overview.known = false // other readings count in every hip
	s.retrend()
	s.changed(Everything)
	return nil
}

// stand shows the reading of f that counts, or the program's proposal where none
// does; outlines that the reader has changed stay.
func (s *Session) stand(f *Film) {
	f.Accepted = f.standing(s.counts)
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

// ErrOthersCount is returned by Accept where the readings of another reader
// count: the reader is to be asked whose shall.
var ErrOthersCount = errors.New("session: the readings of another reader count")

// mayAccept refuses a reading that would not count.
func (s *Session) mayAccept() error {
	switch {
	case s.settings.Reader == "":
		return ErrNoReader
	case s.store == nil:
		return ErrNoStudy
	case s.counts != study.Anyone && s.counts != s.settings.Reader:
		return fmt.Errorf("%w: %s", ErrOthersCount, s.counts)
	}
	return nil
}

// loadCounts reads from the study whose readings count.
func (s *Session) loadCounts() error {
	reader, err := batch.CountsOf(context.Background(), s.store)
	s.counts = reader
	return err
}
