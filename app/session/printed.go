package session

import (
	"context"
	"errors"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// Stamp is what a page says that is made now: reader, time and version of the program.
func (s *Session) Stamp() study.Stamp {
	return study.Stamp{Reader: s.Reader(), At: s.cfg.Now(), Version: s.cfg.Version}
}

// Told is what a report tells of a hip, as it stands in the study.
type Told struct {
	Record study.Record
	batch.HipTold
}

// TellHip reads the open hip from the study in the background, after what waits to be saved,
// and calls done on the session's goroutine. plan says which readings a report shows with
// their points, and which films with pictures, side pixels at most.
func (b *Book) TellHip(plan func(study.Record) (readings []string, films []study.Measurement, err error), side int, done func(Told, error)) {
	if b.store == nil {
		done(Told{}, ErrNoStudy)
		return
	}
	if err := errors.Join(b.s.drafts.Flush(), b.s.intake.flush()); err != nil {
		done(Told{}, err)
		return
	}
	st, hip := b.store, b.s.hip.ID
	b.s.work.queue.Start(jobs.Job{Run: func(ctx context.Context, _ jobs.Step) func() {
		var t Told
		var err error
		if t.Record, err = st.Record(ctx, hip); err == nil {
			t.HipTold, err = tellPlanned(ctx, st, t.Record, plan, side)
		}
		return func() { done(t, err) }
	}})
}

func tellPlanned(ctx context.Context, st study.Store, r study.Record, plan func(study.Record) ([]string, []study.Measurement, error), side int) (h batch.HipTold, err error) {
	readings, films, err := plan(r)
	if err != nil {
		return h, err
	}
	return batch.TellHip(ctx, st, r, readings, films, side)
}
