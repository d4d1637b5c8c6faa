package session

import (
	"context"
	"errors"
	"fmt"

	"linerwatch/app/study"
)

// Exclude leaves the selected film out of the trend for a coded reason, as one
// named step; its outlines stay. The decision is on disk when Exclude returns. An
// empty code takes the film back in.
func (s *Session) Exclude(code, note string) error {
	f := s.selected
	if f == nil {
		return errors.New("session: no film is selected")
	}
	before := f.memory()
	if err := s.exclude(f, code, note); err != nil {
		return err
	}
	verb := "leave out"
	if code == "" {
		verb = "take back in"
	}
	s.record(change{name: verb + " " + s.label(f), film: f, before: before, after: f.memory()})
	if code == "" {
		s.Say("Film %d counts again.", s.index(f)+1)
	} else {
		s.Say("Left out and saved: film %d, %s. It stays in the strip and is drawn hollow.", s.index(f)+1, study.ExclusionWords(code))
	}
	return nil
}

func (s *Session) exclude(f *Film, code, note string) error {
	switch {
	case s.settings.Reader == "":
		return ErrNoReader
	case s.store == nil:
		return ErrNoStudy
	}
	st, ok := s.store.(study.ExclusionStore)
	if !ok {
		return errors.New("session: this study file cannot keep exclusions")
	}
	ctx := context.Background()
	if err := s.saveFilm(ctx, f); err != nil {
		return err
	}
	e := study.Exclusion{
		HipID: s.hip.ID, FilmID: f.ID, Code: code, Note: note,
		Reader: s.settings.Reader, At: s.cfg.Now().UTC(), Version: s.cfg.Version,
	}
	if err := st.AddExclusion(ctx, e); err != nil {
		return err
	}
	f.setExclusion(e)
	s.overview.outdated(s.hip.ID)
	s.retrend()
	s.changed(FilmsChanged | OutlineChanged)
	return nil
}

func (f *Film) setExclusion(e study.Exclusion) {
	f.Excluded = nil
	if e.Code != "" {
		f.Excluded = &e
	}
}

// saveFilm keeps f as a film of this hip where the study does not have it yet.
func (s *Session) saveFilm(ctx context.Context, f *Film) error {
	film := f.Film
	if film.SHA256 == "" {
		return fmt.Errorf("session: %s has not been read", f.Name())
	}
	if film.HipID == "" {
		id, err := s.idInStudy(ctx, f)
		if err != nil {
			return err
		}
		film.ID = id
	}
	film.HipID, film.Patient = s.hip.ID, f.PatientCode
	if err := s.store.SaveFilm(ctx, film); err != nil {
		return err
	}
	if old := f.ID; old != film.ID {
		if st, ok := s.store.(study.DraftStore); ok {
			if err := st.DropDraft(ctx, s.hip.ID, old); err != nil {
				return err
			}
		}
	}
	f.Film = film
	if f.changed {
		s.keep(f)
	}
	return nil
}

// loadExclusions shows the decisions that the study keeps of the open hip.
func (s *Session) loadExclusions() error {
	st, ok := s.store.(study.ExclusionStore)
	if !ok {
		return nil
	}
	list, err := st.Exclusions(context.Background(), s.hip.ID)
	if err != nil {
		return err
	}
	for _, e := range list {
		if f := s.FilmByID(e.FilmID); f != nil {
			f.setExclusion(e)
		}
	}
	return nil
}
