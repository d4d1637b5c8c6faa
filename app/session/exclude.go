package session

import (
	"context"
	"errors"

	"linerwatch/app/study"
)

// Exclude leaves the selected film out of the trend for a coded reason, as one
// named step; its outlines stay. The decision is on disk when Exclude returns. An
// empty code takes the film back in.
func (g *Given) Exclude(code, note string) error {
	f := g.s.strip.selected
	if f == nil {
		return study.NewError("accept.no-film", nil)
	}
	before := f.memory()
	if err := g.exclude(f, code, note); err != nil {
		return err
	}
	step := g.s.strip.onFilm("step.leave-out", f)
	if code == "" {
		step = g.s.strip.onFilm("step.take-back", f)
	}
	g.s.history.record(change{name: step, film: f, before: before, after: f.memory()})
	switch {
	case errors.Is(g.s.book.Fault(), study.ErrMoved):
		g.s.Say("%s", g.s.book.keptWords(say("exclude.done", "What", study.NoteWords(step))))
	case code == "":
		g.s.Say("%s", say("exclude.back", "N", g.s.strip.index(f)+1))
	default:
		g.s.Say("%s", say("exclude.saved", "N", g.s.strip.index(f)+1, "Why", study.ExclusionWords(code)))
	}
	return nil
}

func (g *Given) exclude(f *Film, code, note string) error {
	switch {
	case g.s.settings.Reader == "":
		return ErrNoReader
	case g.s.book.store == nil:
		return ErrNoStudy
	}
	ctx := context.Background()
	if err := g.s.book.saveFilm(ctx, f); err != nil {
		return err
	}
	e := study.Exclusion{
		HipID: g.s.hip.ID, FilmID: f.ID, Code: code, Note: note,
		Reader: g.s.settings.Reader, At: g.s.cfg.Now().UTC(), Version: g.s.cfg.Version,
	}
	if err := g.s.book.store.AddExclusion(ctx, e); err != nil {
		return err
	}
	f.setExclusion(e)
	g.s.overview.outdated(g.s.hip.ID)
	g.s.course.renew()
	g.s.changed(FilmsChanged | OutlineChanged)
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
		if f := b.s.strip.ByID(e.FilmID); f != nil && e.Scope == study.ForAll {
			f.setExclusion(e)
		}
	}
	return nil
}
