package session

import (
	"context"

	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// Gather hands every hip of the study file to add in the background, one at a
// time, and then calls done on the session's goroutine.
func (b *Book) Gather(add func(study.Record), done func(error)) {
	if b.store == nil {
		done(ErrNoStudy)
		return
	}
	st := b.store
	b.s.work.queue.Start(jobs.Job{Run: func(ctx context.Context, _ jobs.Step) func() {
		err := st.Records(ctx, func(r study.Record) error { add(r); return nil })
		return func() { done(err) }
	}})
}

// SetBaseline counts penetration from another film, or from the earliest for "",
// as one named step.
func (s *Session) SetBaseline(filmID string) error {
	if !s.hipKnown || s.hip.Baseline == filmID {
		return nil
	}
	before, h := memory{hip: s.hip, known: true}, s.hip
	h.Baseline = filmID
	if err := s.applyHip(h, true); err != nil {
		return err
	}
	name := "count from the earliest film"
	if f := s.strip.ByID(filmID); f != nil {
		name = "count from " + s.strip.label(f)
	}
	s.history.record(change{name: name, before: before, after: memory{hip: h, known: true}})
	return nil
}
