package session

import (
	"context"
	"strings"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// Given is what the reader tells of a film in place of its file: its date and view, where
// the source stood, how the patient lay, and whether it is left out of the trend. Each is
// a named step.
type Given struct{ s *Session }

// Given returns what the reader tells of the films.
func (s *Session) Given() *Given { return &s.given }

// SetDate takes the date of the selected film from the reader where its file has
// none, as year-month-day.
func (g *Given) SetDate(text string) error {
	f := g.s.strip.selected
	if f == nil {
		return nil
	}
	if f.file != nil && !f.file.Date.IsZero() {
		return study.NewError("given.date", study.Values{"Date": f.file.Date.Format(time.DateOnly)})
	}
	d, err := time.Parse(time.DateOnly, strings.TrimSpace(text))
	if err != nil {
		return study.NewError("given.no-date", nil)
	}
	if d.After(g.s.cfg.Now()) {
		return study.NewError("given.future", study.Values{"Date": text})
	}
	return g.change(f, g.s.strip.onFilm("step.date", f), func(f *study.Film) { f.Given.Date = d })
}

// SetView marks the selected film as AP or lateral, as one step, and searches it
// again for that view. Outlines that the reader changed or accepted stay: the
// search's proposals can then be gone through.
func (g *Given) SetView(v study.View) error {
	if v != study.AP && v != study.Lateral {
		return study.NewError("given.view", study.Values{"View": string(v)})
	}
	f := g.s.strip.selected
	if f == nil || g.s.View(f) == v {
		return nil
	}
	step := g.s.strip.onFilm("step.view", f)
	step.Values["View"] = string(v)
	return g.change(f, step, func(film *study.Film) { film.Given.View = v })
}

// SetSource states the distance from source to detector of the selected film, mm,
// in place of its file's; 0 takes the file's. One step.
func (g *Given) SetSource(mm float64) error {
	if mm != 0 && !(mm >= batch.LeastSource && mm <= batch.MostSource) {
		return study.NewError("given.source", study.Values{"MM": mm, "Least": float64(batch.LeastSource), "Most": float64(batch.MostSource)})
	}
	return g.change(g.s.strip.selected, g.s.strip.onFilm("step.source", g.s.strip.selected), func(f *study.Film) { f.Given.SourceMM = mm })
}

// SetBeamCenter states where the central ray met the selected film, film pixels,
// in place of the centre of its collimated field, by its file's tags, or else of the
// middle of the film; nil takes those. One step.
func (g *Given) SetBeamCenter(p *measure.Point) error {
	return g.change(g.s.strip.selected, g.s.strip.onFilm("step.center", g.s.strip.selected), func(f *study.Film) { f.Given.Center = p })
}

// SetAxes states how the patient lies on the selected lateral film, as one step; the
// zero value takes back what was stated.
func (g *Given) SetAxes(a study.Axes) error {
	if a != (study.Axes{}) && !a.Known() {
		return study.NewError("given.axes", nil)
	}
	if g.s.strip.selected == nil || g.s.strip.selected.Given.Axes == a {
		return nil
	}
	return g.change(g.s.strip.selected, g.s.strip.onFilm("step.axes", g.s.strip.selected), func(f *study.Film) { f.Given.Axes = a })
}

// change changes what is known of a film as one named step and keeps it.
func (g *Given) change(f *Film, name study.Note, edit func(*study.Film)) error {
	if f == nil {
		return nil
	}
	before, view := f.memory(), f.View()
	edit(&f.Film)
	if err := g.keep(f); err != nil {
		f.Given = before.given
		return err
	}
	again := f.View() != view && g.s.work.searchAgain(f)
	g.s.history.record(change{name: name, film: f, before: before, after: f.memory()})
	if again && f.Draft != nil {
		g.s.Say("%s", say("given.searched-again", "N", g.s.strip.index(f)+1, "View", string(g.s.View(f))))
	}
	g.changed(f)
	return nil
}

func (g *Given) changed(f *Film) {
	f.turn++
	g.s.strip.sort()
	g.s.course.renew()
	g.s.changed(FilmsChanged | OutlineChanged | SelectedChanged)
}

// keep saves what is known of f where the study has the film, and with its
// draft where it has not.
func (g *Given) keep(f *Film) error {
	if f.saved && g.s.book.store != nil {
		g.s.overview.outdatedAll() // the film may be one of another hip too
		return g.s.book.saveFilm(context.Background(), f)
	}
	g.s.drafts.unnote(f)
	g.s.drafts.keep(f)
	return nil
}

// restore takes what is known of f back to m.
func (g *Given) restore(f *Film, m memory) {
	m.given.Black = f.Given.Black // which is no step
	if f.Given == m.given {
		return
	}
	view := f.View()
	f.Given = m.given
	if f.View() != view {
		f.findings = m.found
		if !m.changed && f.Accepted == nil {
			f.Draft = m.draft
		}
		if f.step >= Proposed && f.step != Failed {
			if f.step = Proposed; f.proposal == nil {
				f.step = Loaded // to be searched where nothing is outlined
			}
		}
	}
	g.s.strip.sort()
	if err := g.keep(f); err != nil {
		g.s.Say("%s", study.Told(err))
	}
}
