package session

import (
	"context"
	"errors"

	"linerwatch/app/study"
)

// Exclude leaves the selected film out of the trend for a coded reason, as one
// named step; its outlines stay. The decision is on disk when Exclude returns. An
// empty code takes the film back in.
func (s *Session) Exclude(code, note string) error {
	f := s.strip.selected
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
	s.history.record(change{name: verb + " " + s.strip.label(f), film: f, before: before, after: f.memory()})
	switch {
	case errors.Is(s.book.Fault(), study.ErrMoved):
		s.Say("%s", s.book.keptWords("Done: "+verb+" "+s.strip.label(f)))
	case code == "":
		s.Say("Film %d counts again.", s.strip.index(f)+1)
	default:
		s.Say("Left out and saved: film %d, %s. It stays in the strip and is drawn hollow.", s.strip.index(f)+1, study.ExclusionWords(code))
	}
	return nil
}

func (s *Session) exclude(f *Film, code, note string) error {
	switch {
	case s.settings.Reader == "":
		return ErrNoReader
	case s.book.store == nil:
		return ErrNoStudy
	}
	ctx := context.Background()
	if err := s.book.saveFilm(ctx, f); err != nil {
		return err
	}
	e := study.Exclusion{
		HipID: s.hip.ID, FilmID: f.ID, Code: code, Note: note,
		Reader: s.settings.Reader, At: s.cfg.Now().UTC(), Version: s.cfg.Version,
	}
	if err := s.book.store.AddExclusion(ctx, e); err != nil {
		return err
	}
	f.setExclusion(e)
	s.overview.outdated(s.hip.ID)
	s.course.renew()
	s.changed(FilmsChanged | OutlineChanged)
	return nil
}

func (f *Film) setExclusion(e study.Exclusion) {
	f.Excluded = nil
	if e.Code != "" {
		f.Excluded = &e
	}
}

// loadExclusions shows the decisions that the study keeps of the open hip.
func (b *Book) loadExclusions() error {
	list, err := b.store.Exclusions(context.Background(), b.s.hip.ID)
	if err != nil {
		return err
	}
	for _, e := range list {
		if f := b.s.strip.ByID(e.FilmID); f != nil {
			f.setExclusion(e)
		}
	}
	return nil
}
