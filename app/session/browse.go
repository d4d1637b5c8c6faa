package session

import (
	"context"

	"linerwatch/app/session/jobs"
	"linerwatch/app/source"
)

// Entry is what a reader may choose in a folder.
type Entry = source.Entry

// Browser looks into folders for a reader who chooses films, in the background, one
// folder at a time: a network drive keeps nobody waiting.
type Browser struct {
	s      *Session
	cancel []func()
}

// Browse returns a browser.
func (s *Session) Browse() *Browser { return &Browser{s: s} }

// Look lists a folder and hands it to show; what was asked before is left.
func (b *Browser) Look(folder string, show func([]Entry, error)) {
	b.Leave()
	b.start(func(ctx context.Context) func() {
		list, err := source.Browse(ctx, folder)
		return func() { show(list, err) }
	})
}

// Count counts the films in folders and hands each count to told: more where there may
// be more films than n.
func (b *Browser) Count(folders []string, told func(folder string, n int, more bool)) {
	for _, f := range folders {
		b.start(func(ctx context.Context) func() {
			n, more := source.Count(ctx, f)
			return func() { told(f, n, more) }
		})
	}
}

// Leave ends what goes on; nothing more is handed over.
func (b *Browser) Leave() {
	for _, stop := range b.cancel {
		stop()
	}
	b.cancel = nil
}

func (b *Browser) start(run func(ctx context.Context) func()) {
	b.cancel = append(b.cancel, b.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
		return run(ctx)
	}}))
}
