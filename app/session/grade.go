package session

import (
	"context"
	"errors"
	"os"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// GradesFirst reports whether a film's quality is graded before its numbers are shown: where
// the study asks for it, or where none is open yet and a new one would.
func (b *Book) GradesFirst() bool { return b.gradesFirst }

// loadGradesFirst reads from the study whether it asks for grades.
func (b *Book) loadGradesFirst() (err error) {
	b.gradesFirst, err = batch.GradesFirst(context.Background(), b.store)
	return err
}

// making returns what opens the study at path, or makes it, which asks for grades where the
// session has its new studies do so. It is for the background.
func (b *Book) making(path string, folder bool) func() (study.Store, error) {
	by := b.s.stamp()
	return func() (study.Store, error) {
		_, there := os.Stat(path)
		st, err := b.made(path, folder)
		if err != nil || !b.s.cfg.GradesFirst || study.IsAddress(path) || !errors.Is(there, os.ErrNotExist) {
			return st, err
		}
		if err := batch.SetGradesFirst(context.Background(), st, true, by); err != nil {
			return nil, errors.Join(err, st.Close())
		}
		return st, nil
	}
}

// loadGrades shows how readers have graded the films of the open hip.
func (b *Book) loadGrades() error {
	list, err := b.store.Grades(context.Background(), b.s.hip.ID)
	if err != nil {
		return err
	}
	for _, f := range b.s.strip.films {
		f.grades = nil
	}
	for _, g := range list {
		if f := b.s.strip.ByID(g.FilmID); f != nil {
			f.grades = append(f.grades, g)
		}
	}
	return nil
}

// Grade returns how this reader has graded f; Quality is empty before that.
func (s *Session) Grade(f *Film) (out study.Grade) {
	for _, g := range f.grades {
		if g.Reader == s.settings.Reader {
			out = g
		}
	}
	return out
}

// GradeDue reports whether this reader is to grade f before accepting it.
func (s *Session) GradeDue(f *Film) bool {
	return s.blind == nil && s.hipKnown && s.book.gradesFirst && s.Grade(f).Quality == ""
}

// Covered reports whether no number of f is shown: nobody's reading of it counts, and this
// reader has not graded it.
func (s *Session) Covered(f *Film) bool { return f.Accepted == nil && s.GradeDue(f) }

// SetGrade grades the selected film, whose numbers are shown from then on: it may not depend on
// them, and stays. The grade is saved when SetGrade returns without an error. Where the study
// does not ask for it nothing is done.
func (s *Session) SetGrade(quality, reason string) error {
	f := s.strip.selected
	switch {
	case f == nil || f.Pixels() == nil:
		return study.NewError("accept.no-film", nil)
	case s.Grade(f).Quality != "":
		return errGraded
	case !s.GradeDue(f):
		return nil
	}
	g := study.Grade{Quality: quality, Reason: reason, Stamp: s.stamp()}
	if err := errors.Join(g.Validate(), s.mayAccept()); err != nil {
		return err
	}
	ctx := context.Background()
	if err := s.book.saveFilm(ctx, f); err != nil {
		return err
	}
	g.HipID, g.FilmID = s.hip.ID, f.ID
	if err := s.book.store.AddGrade(ctx, g); err != nil {
		return err
	}
	f.grades = append(f.grades, g)
	s.course.renew()
	s.changed(FilmsChanged | SelectedChanged | OutlineChanged)
	return nil
}
