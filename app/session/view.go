package session

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// View returns how f was taken; a film that does not say is AP.
func (s *Session) View(f *Film) study.View {
	if f == nil {
		return study.AP
	}
	return cmp.Or(f.View(), study.AP)
}

// SetView marks the selected film as AP or lateral, as one step, and searches it
// again for that view. Outlines that the reader changed or accepted stay: the
// search's proposals can then be gone through.
func (s *Session) SetView(v study.View) error {
	if v != study.AP && v != study.Lateral {
		return fmt.Errorf("session: view %q is neither AP nor lateral", v)
	}
	f := s.strip.selected
	if f == nil || s.View(f) == v {
		return nil
	}
	return s.changeFilm(f, "mark as "+string(v)+", ", func(film *study.Film) { film.Given.View = v })
}

// SetSource states the distance from source to detector of the selected film, mm,
// in place of its file's; 0 takes the file's. One step.
func (s *Session) SetSource(mm float64) error {
	if mm != 0 && !(mm >= 500 && mm <= 4000) {
		return fmt.Errorf("session: a distance from source to detector of %g mm is outside 500 to 4000", mm)
	}
	return s.changeFilm(s.strip.selected, "state the source's distance, ", func(f *study.Film) { f.Given.SourceMM = mm })
}

// SetBeamCenter states where the central ray met the selected film, film pixels,
// in place of the centre of its collimated field, by its file's tags, or else of the
// middle of the film; nil takes those. One step.
func (s *Session) SetBeamCenter(p *measure.Point) error {
	return s.changeFilm(s.strip.selected, "state the central ray, ", func(f *study.Film) { f.Given.Center = p })
}

// SetAxes states how the patient lies on the selected lateral film, as one step; the
// zero value takes back what was stated.
func (s *Session) SetAxes(a study.Axes) error {
	if a != (study.Axes{}) && !a.Known() {
		return errors.New("session: the head end and the front lie towards two edges that meet")
	}
	if s.strip.selected == nil || s.strip.selected.Given.Axes == a {
		return nil
	}
	return s.changeFilm(s.strip.selected, "tell the edges of ", func(f *study.Film) { f.Given.Axes = a })
}

// SetBeamOff says whether the films of the hip are left uncorrected for the cone
// beam, as one step.
func (s *Session) SetBeamOff(off bool) error {
	if !s.hipKnown || s.hip.BeamOff == off {
		return nil
	}
	h := s.hip
	h.BeamOff = off
	return s.SetHip(h)
}

// changeFilm changes what is known of a film as one named step and keeps it.
func (s *Session) changeFilm(f *Film, verb string, edit func(*study.Film)) error {
	if f == nil {
		return nil
	}
	before, view := f.memory(), f.View()
	edit(&f.Film)
	if err := s.keepFilm(f); err != nil {
		f.Given = before.given
		return err
	}
	again := f.View() != view && s.work.searchAgain(f)
	s.history.record(change{name: verb + s.strip.label(f), film: f, before: before, after: f.memory()})
	if again && f.Draft != nil {
		s.Say("Film %d is searched again as %s film; your outlines stay, 2 shows what is proposed.", s.strip.index(f)+1, article(s.View(f)))
	}
	s.filmChanged(f)
	return nil
}

func article(v study.View) string {
	if v == study.AP {
		return "an AP"
	}
	return "a " + string(v)
}

// searchAgain searches f for its new view, and reports whether it can.
func (w *Work) searchAgain(f *Film) bool {
	f.findings = findings{}
	if !f.changed && f.Accepted == nil {
		f.Draft = nil
	}
	if !w.s.hipKnown || !f.wasRead() || f.step < Searching || f.step == Failed {
		return false
	}
	if f.step != Searching { // else the search starts anew once it has ended
		w.detect(f)
	}
	return true
}

func (s *Session) filmChanged(f *Film) {
	f.turn++
	s.strip.sort()
	s.course.renew()
	s.changed(FilmsChanged | OutlineChanged | SelectedChanged)
}

// keepFilm saves what is known of f where the study has the film, and with its
// draft where it has not.
func (s *Session) keepFilm(f *Film) error {
	if f.saved && s.book.store != nil {
		s.overview.known = false // the film may be one of another hip too
		return s.book.saveFilm(context.Background(), f)
	}
	delete(s.drafts.noted, f)
	s.drafts.keep(f)
	return nil
}

// restoreFilm takes what is known of f back to m.
func (s *Session) restoreFilm(f *Film, m memory) {
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
	s.strip.sort()
	if err := s.keepFilm(f); err != nil {
		s.Say("%s", study.Plain(err))
	}
}
