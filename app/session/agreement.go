package session

import (
	"context"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// Agreement judges in the background how far the readers of the study agree, by one component
// of the head's offset, and then calls done.
func (b *Book) Agreement(medial bool, done func(study.StudyAgreement, error)) {
	if b.store == nil {
		done(study.StudyAgreement{}, ErrNoStudy)
		return
	}
	if err := b.Hidden(); err != nil {
		done(study.StudyAgreement{}, err)
		return
	}
	st := b.store
	b.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
		a, err := batch.Agreement(ctx, st, medial)
		return func() { done(a, err) }
	}})
}
