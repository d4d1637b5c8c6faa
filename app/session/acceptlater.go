package session

import (
	"errors"
	"time"

	"linerwatch/app/study"
)

// How long an acceptance waits at once for another program that writes to the study, which
// a reader does not notice, how often it is tried again, and for how long.
const (
	acceptAtOnce = 100 * time.Millisecond
	acceptEvery  = 500 * time.Millisecond
	acceptFor    = time.Minute
)

// acceptLater accepts f as it is now once the study can be written to, until a time. The
// film is not accepted before.
func (s *Session) acceptLater(f *Film, until time.Time) {
	turn, awaits, reader, store := f.turn, f.awaits, s.settings.Reader, s.book.store
	s.work.queue.After(acceptEvery, func() {
		switch {
		case f.awaits != awaits:
			return
		case f.turn != turn || s.strip.index(f) < 0 || s.settings.Reader != reader || s.book.store != store:
			s.Say("%s", say("accept.changed-while", "Film", f.Name()))
			return
		}
		err := s.accept(f)
		switch {
		case err == nil, errors.Is(err, study.ErrMoved): // which has said so
		case errors.Is(err, study.ErrBusy) && s.cfg.Now().Before(until):
			s.acceptLater(f, until)
		default:
			s.Say("%s", say("accept.refused-film", "Film", f.Name(), "Why", study.Told(err)))
		}
	})
}
