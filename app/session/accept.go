package session

import (
	"context"
	"crypto/rand"
	"errors"
	"time"

	"linerwatch/app/study"
)

// ErrNoStudy is returned by Accept where no study file is open yet: the reader
// is to be asked for one.
var ErrNoStudy = study.NewError("accept.no-study", nil)

// ErrNoReader is returned by Accept where the reader's code is not known yet.
var ErrNoReader = study.NewError("accept.no-reader", nil)

// ErrContradicts is the error of accepting a film whose file says that it is another
// hip's.
var ErrContradicts = study.NewError("accept.contradicts", nil)

// Accept saves the outlines of the selected film as the reader's reading. It is
// on disk when Accept returns without an error; with study.ErrMoved it counts, and is
// nowhere but in the open study. A later reading of the film by the
// same reader supersedes it, one by another reader stands beside it; none is ever
// overwritten. Undo withdraws it: it is kept and does not count. Where another program writes
// to the study the error is study.ErrBusy: nothing is accepted yet, and it is tried again
// until it is, or the outlines are changed.
func (s *Session) Accept() error {
	if s.blind != nil {
		return s.blind.accept()
	}
	f := s.strip.selected
	if f == nil {
		return study.NewError("accept.no-film", nil)
	}
	f.awaits++ // an acceptance that waits gives way to this one
	err := s.accept(f)
	if errors.Is(err, study.ErrBusy) {
		s.acceptLater(f, s.cfg.Now().Add(acceptFor))
		return study.WrapError(err, "accept.waits", nil)
	}
	return err
}

func (s *Session) accept(f *Film) error {
	if s.GradeDue(f) {
		return ErrNoGrade
	}
	n := s.Numbers(f)
	if n.Err != nil {
		return study.WrapError(n.Err, "accept.nothing", study.Values{"Why": study.NoteOf(n.Err)})
	}
	if err := s.mayAccept(); err != nil {
		return err
	}
	if why := s.intake.Contradiction(f); why != "" {
		return study.WrapError(ErrContradicts, "accept.contradicts-so", study.Values{"Why": why})
	}
	had := f.ownID(s.settings.Reader)
	if err := s.book.catchUp(); err != nil {
		return err
	}
	if s.book.veiled { // by a list that another program has made since
		if err := s.book.Hidden(); err != nil {
			return err
		}
	}
	if f.ownID(s.settings.Reader) != had || f.since && f.changed {
		return s.readSince(f, n)
	}
	if n = s.Numbers(f); n.Err != nil { // as read with what other windows have saved
		return n.Err
	}
	ctx, before := study.Impatient(context.Background(), acceptAtOnce), f.memory()
	if err := s.book.saveFilm(ctx, f); err != nil {
		return err
	}
	film := f.Film
	n.Film = film
	r := study.Reading{
		ID: newID(s.cfg.Now()), HipID: s.hip.ID, FilmID: film.ID, Reader: s.settings.Reader, At: s.cfg.Now().UTC(),
		Version: s.cfg.Version, Measurement: n.Measurement,
	}
	r.Supersedes = f.ownID(r.Reader) // a reading of another reader stands beside it
	switch err := s.book.store.AddNext(ctx, r); {
	case errors.Is(err, study.ErrReadSince):
		return errors.Join(s.book.follow(), s.readSince(f, n))
	case err != nil:
		return err
	}
	if p, err := s.book.store.Points(ctx, r.ID); err == nil { // rounded, as every later computation has them
		r = r.With(p)
	}
	f.Readings = append(f.Readings, r)
	f.changed = false
	s.book.stand(f)
	s.overview.outdated(s.hip.ID)
	s.drafts.keep(f)
	if err := s.drafts.Flush(); err != nil && !errors.Is(err, errDraftElsewhere) { // of other films, which stay in this window
		return err
	}
	s.history.record(change{name: s.strip.onFilm("step.accept", f), film: f, before: before, after: f.memory(), reading: r.ID})
	s.course.renew()
	s.changed(FilmsChanged | OutlineChanged)
	if fault := s.book.Fault(); errors.Is(fault, study.ErrMoved) {
		s.Say("%s", s.book.keptWords(say("accept.kept-of", "Film", s.strip.label(f), "Date", f.DateText())))
		return fault
	}
	s.Say("%s", say("accept.saved", "Film", s.strip.label(f), "Date", f.DateText(), "Reader", r.Reader, "More", s.book.Otherwise(f)))
	return nil
}

// readSince is the error of accepting f, whose reader has accepted it in another window
// meanwhile. Outlines that were changed here stay; others give way to that reading.
func (s *Session) readSince(f *Film, n Numbers) error {
	f.since = false
	theirs := f.own(s.settings.Reader)
	if theirs == nil {
		return study.WrapError(study.ErrReadSince, "accept.withdrawn-since", study.Values{"Film": s.strip.label(f)})
	}
	return study.WrapError(study.ErrReadSince, "accept.read-since", study.Values{"Film": s.strip.label(f), "Changed": f.changed,
		"Theirs": s.AsNow(*theirs).Reading.Offset.Superior, "Mine": n.Reading.Offset.Superior})
}

// mayAccept refuses a reading that could not be kept.
func (s *Session) mayAccept() error {
	switch {
	case s.settings.Reader == "":
		return ErrNoReader
	case s.book.store == nil:
		return ErrNoStudy
	}
	return s.book.writable()
}

// newID returns an identifier that sorts by time.
func newID(now time.Time) string {
	return now.UTC().Format("20060102T150405.000") + "-" + rand.Text()[:10]
}
