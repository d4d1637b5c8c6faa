package session

import (
	"context"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// OpenDemo renders the demo films into dir in the background, makes their study
// file there and opens it. Readings accepted in an earlier demo study stay.
func (b *Book) OpenDemo(dir string) {
	b.s.Say("%s", say("book.renders-demo"))
	by := b.s.stamp()
	b.s.work.queue.Start(jobs.Job{Run: func(ctx context.Context, step jobs.Step) func() {
		path, err := batch.DemoStudy(ctx, dir, b.s.cfg.Studies, by, step)
		return func() {
			if err != nil {
				b.s.Say("%s", study.Told(err))
				return
			}
			b.Open(path, func(err error) {
				if err != nil {
					b.s.Say("%s", study.Told(err))
					return
				}
				b.s.Say("%s", say("book.demo-open"))
			})
		}
	}})
}
