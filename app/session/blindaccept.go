package session

import (
	"context"
	"errors"

	"linerwatch/app/study"
)

// Grade returns how the reader has graded the film; Quality is empty before that.
func (l *Blind) Grade() study.Grade { return l.grade }

// SetGrade grades the film that is read. Where the list shows numbers, that is kept at once
// and stays, since it may not depend on them; else it is kept with the reading.
func (l *Blind) SetGrade(quality, reason string) error {
	if l.place == 0 {
		return study.NewError("accept.no-film", nil)
	}
	if l.list.Shows && l.grade.Quality != "" {
		return errGraded
	}
	g := study.Grade{HipID: l.hip.ID, FilmID: l.film.ID, Quality: quality, Reason: reason}
	if err := g.Validate(); err != nil {
		return err
	}
	l.grade = g
	if l.list.Shows {
		if err := l.keepGrade(); err != nil {
			l.grade = study.Grade{}
			return err
		}
	}
	l.s.changed(FilmsChanged | OutlineChanged)
	return nil
}

// keepGrade saves the grade, whose time tells that it is saved.
func (l *Blind) keepGrade() error {
	g := l.grade
	g.Stamp = l.study.stamp()
	if err := l.study.book.store.AddGrade(context.Background(), g); err != nil {
		return err
	}
	l.grade = g
	return nil
}

// NumbersShown reports whether the numbers of the film may be seen.
func (l *Blind) NumbersShown() bool { return l.list.Shows && l.grade.Quality != "" }

// accept saves the outlines as the reading of the place and goes on to the next one. A place
// that is read is locked: only a withdrawal opens it again.
func (l *Blind) accept() error {
	f := l.s.strip.selected
	if f == nil || l.place == 0 {
		return study.NewError("accept.no-film", nil)
	}
	n := l.s.Numbers(f)
	switch {
	case n.Err != nil:
		return study.WrapError(n.Err, "accept.nothing", study.Values{"Why": study.NoteOf(n.Err)})
	case l.grade.Quality == "":
		return ErrNoGrade
	}
	p := l.list.Places[l.place-1]
	r := study.Reading{HipID: p.HipID, FilmID: p.FilmID, Reader: l.list.Reader, Version: l.study.cfg.Version, Measurement: n.Measurement,
		Listed: study.Listed{List: l.list.ID, Kind: l.list.Kind, Place: l.place, Occasion: p.Occasion, Start: l.list.Start,
			Untouched: l.list.Start == study.StartProposal && !f.changed && f.Draft == f.proposal}}
	r.Film = l.film
	return l.keep(func(ctx context.Context, st study.Store) error {
		r.At = l.study.cfg.Now().UTC() // after the grade's
		r.ID = newID(r.At)
		return st.AddReading(ctx, r)
	})
}

// Exclude says that this reader cannot read the film, for a coded reason, and goes on. What
// others read of it stays.
func (l *Blind) Exclude(code, note string) error {
	if l.place == 0 {
		return study.NewError("accept.no-film", nil)
	}
	p, by := l.list.Places[l.place-1], l.study.stamp()
	e := study.Exclusion{HipID: p.HipID, FilmID: p.FilmID, Code: code, Note: note, Scope: study.ForReader, List: l.list.ID, Place: l.place,
		Reader: l.list.Reader, At: by.At, Version: by.Version}
	return l.keep(func(ctx context.Context, st study.Store) error { return st.AddExclusion(ctx, e) })
}

// keep saves what was decided at the place, with the film's grade where that is not kept yet,
// and goes on. A place that another window has done meanwhile is passed over.
func (l *Blind) keep(add func(context.Context, study.Store) error) error {
	if l.grade.Quality != "" && l.grade.At.IsZero() {
		if err := l.keepGrade(); err != nil {
			return err
		}
	}
	err := add(context.Background(), l.study.book.store)
	if errors.Is(err, study.ErrPlaceDone) {
		if err = l.dropDraft(); err == nil {
			err = l.next()
		}
		l.s.Say("%s", study.Told(study.ErrPlaceDone))
		return err
	}
	if errors.Is(err, study.ErrListClosed) {
		return study.ErrListClosed // not what was to be written, which is named by its ID
	}
	if err != nil {
		return err
	}
	if err := errors.Join(l.dropDraft(), l.next()); err != nil {
		return err
	}
	l.s.Say("%s", say("blind.saved"))
	return nil
}

// PutAside puts the film off until the list is opened again, and goes on.
func (l *Blind) PutAside() error {
	if l.place == 0 {
		return nil
	}
	l.aside[l.place] = true
	return l.next()
}
