package session

import (
	"context"
	"errors"
	"io"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// WriteResults writes the readings of the open hip that count into a folder, for an image
// archive (batch.Results), in the background, and then calls done on the session's
// goroutine with what became of each film. What waits to be saved is saved before. save
// writes a file that is not there yet.
func (b *Book) WriteResults(dir string, save func(path string, write func(io.Writer) error) error, done func([]study.Written, error)) {
	if b.store == nil {
		done(nil, ErrNoStudy)
		return
	}
	if err := errors.Join(b.s.drafts.Flush(), b.s.intake.flush()); err != nil {
		done(nil, err)
		return
	}
	st, hip := b.store, b.s.hip.ID
	opt := batch.ResultOptions{Reader: b.Counts(), Out: dir, Version: b.s.cfg.Version, Now: b.s.cfg.Now(), Save: save}
	b.s.work.queue.Start(jobs.Job{Run: func(ctx context.Context, step jobs.Step) func() {
		var films []study.Written
		r, err := st.Record(ctx, hip)
		if err == nil {
			err = batch.MakeResultsOut(dir, r)
		}
		if err == nil {
			films, err = batch.Results(ctx, r, opt, step)
		}
		return func() { done(films, err) }
	}})
}
