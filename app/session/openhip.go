package session

import (
	"context"
	"errors"

	"linerwatch/app/study"
)

// OpenHip shows a hip of the open study file with its films and readings, and of the
// films the first that waits for its reader. The error is that of Book.Hidden where numbers are
// hidden.
func (s *Session) OpenHip(id string) error {
	if s.book.store == nil {
		return ErrNoStudy
	}
	if err := s.book.Hidden(); err != nil {
		return err
	}
	if err := s.drafts.Keep(); err != nil {
		return err
	}
	ctx := context.Background()
	hips, err := s.book.store.Hips(ctx) // another window may have changed them
	if err != nil {
		return err
	}
	films, err := s.book.store.Films(ctx, id)
	if err != nil {
		return err
	}
	links, err := s.book.store.Links(ctx, id)
	if err != nil {
		return err
	}
	readings, err := s.book.wholeReadings(ctx, id)
	if err != nil {
		return err
	}
	s.intake.leave()
	carry := s.work.carry()
	s.clear()
	s.book.hips = hips
	for _, h := range s.book.hips {
		if h.ID == id {
			s.hip, s.hipKnown = h, true
		}
	}
	for _, f := range films {
		s.strip.put(&Film{Film: f, saved: true})
	}
	for _, l := range links {
		if f := s.strip.ByID(l.FilmID); l.Searched == study.Failed && !gone(f.Path) {
			f.step, f.Reason, f.faulty = Failed, l.Reason, true // read again when the reader says so
		}
	}
	for _, r := range readings {
		if f := s.strip.ByID(r.FilmID); f != nil {
			f.Readings = append(f.Readings, r)
		}
	}
	for _, f := range s.strip.films {
		s.book.stand(f)
	}
	if err := errors.Join(s.book.loadExclusions(), s.book.loadGrades()); err != nil {
		return err
	}
	unread := s.drafts.load()
	s.strip.sort()
	s.history.rejoin()
	s.strip.showFirst(func(*Film) bool { return true })
	for _, f := range s.strip.films {
		s.work.need(f)
	}
	carry()
	s.course.renew()
	s.changed(Everything)
	return unread
}

// clear takes all films out of the strip. What can be undone of them stays.
func (s *Session) clear() {
	s.work.Cancel()
	s.drafts.leave()
	s.history.leave()
	s.strip.empty()
	s.hip, s.hipKnown = study.Hip{}, false
	s.mouse.letGo()
	s.notice = notice{}
	s.book.LeaveConflict()
	s.course.renew()
}
