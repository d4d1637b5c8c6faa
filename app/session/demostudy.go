package session

import (
	"context"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// OpenDemo renders the demo films into dir in the background, makes their study
// file there and opens it. Readings accepted in an earlier demo study stay.
func (s *Session) OpenDemo(dir string) {
	s.Say("Rendering the demo films and measuring them …")
	by := s.stamp()
	s.start(nil, func(ctx context.Context) func() {
		path, err := batch.DemoStudy(ctx, dir, s.cfg.Studies, by, func(done, total int) {
			s.cfg.Post(func() {
				if ctx.Err() == nil {
					s.work.steps, s.work.ofSteps = done, total
					s.changed(WorkChanged)
				}
			})
		})
		return func() {
			s.work.steps, s.work.ofSteps = 0, 0
			if err == nil {
				err = s.OpenStudy(path)
			}
			if err != nil {
				s.Say("%s", study.Plain(err))
				return
			}
			s.Say("The demo study is open; its films and codes are invented.")
		}
	})
}
