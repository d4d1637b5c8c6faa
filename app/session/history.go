package session

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"linerwatch/app/study"
)

// history is the list of changes that can be taken back, of every hip of the study
// that was opened.
type history struct {
	done, undone []change
}

// change is one step: the outlines of a film, or the details of the hip.
type change struct {
	name          string
	hip           string // ID of the hip that it was made on; empty where that has none yet
	film          *Film  // nil for a change of the hip
	before, after memory
	reading       string                // ID of the reading that was accepted by it
	parts         []change              // in place of the above: several films at once
	again         func(undo bool) error // in place of all of them, for what is no film's and no hip's
	at            time.Time
	joins         string // steps of the same kind that follow quickly become one
}

// memory is what a step restores.
type memory struct {
	draft   *Draft
	changed bool
	found   findings // of the search for the view
	given   study.Given
	code    string // of the exclusion
	note    string
	hip     study.Hip
	known   bool
}

// joinWithin is the time in which repeated nudges become one step.
const joinWithin = time.Second

// historyLength bounds the memory held by the history.
const historyLength = 500

// record adds a step. Steps with the same non-empty joins that follow within
// joinWithin become one.
func (s *Session) record(c change) {
	s.outdate()
	c.at, c.hip = s.cfg.Now(), s.hip.ID
	s.history.undone = nil
	if n := len(s.history.done); n > 0 && c.joins != "" {
		last := &s.history.done[n-1]
		if last.joins == c.joins && last.film == c.film && c.at.Sub(last.at) < joinWithin {
			last.after, last.at = c.after, c.at
			return
		}
	}
	s.history.done = append(s.history.done, c)
	if n := len(s.history.done); n > historyLength {
		s.history.done = s.history.done[n-historyLength:]
	}
}

// UndoName returns the name of the step that Undo takes back, or "".
func (s *Session) UndoName() string { return s.lastName(s.history.done) }

// RedoName returns the name of the step that Redo makes again, or "".
func (s *Session) RedoName() string { return s.lastName(s.history.undone) }

func (s *Session) lastName(list []change) string {
	if len(list) == 0 {
		return ""
	}
	c := list[len(list)-1]
	if c.elsewhere(s) {
		return "hip " + s.hipLabel(c.hip) + ": " + c.name
	}
	return c.name
}

// elsewhere reports whether the step was made on a hip that is not open.
func (c change) elsewhere(s *Session) bool { return c.hip != "" && c.hip != s.hip.ID }

// Undo takes back the last change and shows the film it was made on, for which it
// opens the hip. Where that fails, nothing is taken back.
func (s *Session) Undo() { s.step(&s.history.done, &s.history.undone, true) }

// Redo makes the change again that Undo took back last.
func (s *Session) Redo() { s.step(&s.history.undone, &s.history.done, false) }

func (s *Session) step(from, to *[]change, undo bool) {
	s.mouse.CancelTool()
	n := len(*from)
	if n == 0 {
		return
	}
	s.mouse.drag = drag{}
	if c := (*from)[n-1]; c.elsewhere(s) {
		if err := s.OpenHip(c.hip); err != nil {
			s.Say("%s", study.Plain(err))
			return
		}
	}
	c := (*from)[n-1] // with the films as they are open now
	if err := s.restore(c, undo); err != nil {
		s.Say("%s", study.Plain(err))
		return
	}
	*from, *to = (*from)[:n-1], append(*to, c)
	said := "Done again: %s"
	if undo {
		said = "Undone: %s"
	}
	if c.reading != "" && undo {
		said += ". The reading is kept, marked as withdrawn."
	}
	s.Say(said, c.name)
}

// restore takes c back, or makes it again.
func (s *Session) restore(c change, undo bool) error {
	m := c.after
	if undo {
		m = c.before
	}
	switch {
	case c.again != nil:
		return c.again(undo)
	case c.parts != nil:
		for _, p := range c.parts {
			if err := s.restore(p, undo); err != nil {
				return err
			}
		}
		return nil
	case c.film == nil:
		return s.applyHip(m.hip, m.known)
	}
	f := c.film
	if s.index(f) < 0 {
		return fmt.Errorf("session: %s is not open any more", f.Name())
	}
	if c.reading != "" {
		if err := s.withdraw(f, c.reading, undo); err != nil {
			return err
		}
	}
	if err := s.restoreExclusion(f, m); err != nil {
		return err
	}
	f.Draft, f.changed = m.draft, m.changed
	if !m.changed && (f.Accepted != nil || m.draft == nil) {
		f.Draft = f.found()
	}
	s.restoreFilm(f, m)
	f.turn++
	s.keep(f)
	s.work.need(f)
	if f != s.selected {
		s.Select(s.index(f))
	}
	s.retrend()
	s.changed(OutlineChanged | FilmsChanged)
	return nil
}

// restoreExclusion takes back, or makes again, the decision to leave f out.
func (s *Session) restoreExclusion(f *Film, m memory) error {
	if now := f.memory(); now.code == m.code && now.note == m.note {
		return nil
	}
	return s.exclude(f, m.code, m.note)
}

// withdraw takes the acceptance of a reading back, or lets the reading stand again.
// Either decision is on disk when it returns; the reading stays as it is.
func (s *Session) withdraw(f *Film, reading string, undo bool) error {
	i := slices.IndexFunc(f.Readings, func(r study.Reading) bool { return r.ID == reading })
	if i < 0 {
		return errors.New("session: the film has no such reading")
	}
	w := study.Withdrawal{ReadingID: reading, Back: !undo, Reader: s.settings.Reader, At: s.cfg.Now().UTC(), Version: s.cfg.Version}
	if err := s.store.AddWithdrawal(context.Background(), w); err != nil {
		return err
	}
	f.Readings[i].Withdrawn = nil
	if undo {
		f.Readings[i].Withdrawn = &w
	}
	f.Accepted = f.standing(s.counts)
	s.overview.outdated(s.hip.ID)
	return nil
}

// rename puts the ID that a hip has now in the place of its old one.
func (h *history) rename(old, now string) {
	for _, list := range [][]change{h.done, h.undone} {
		for i := range list {
			if old != "" && list[i].hip == old {
				list[i].hip = now
			}
		}
	}
}

// eachFilm hands the film of every step to do, which may put another in its place.
func (h *history) eachFilm(do func(hip string, film *Film) *Film) {
	for _, list := range [][]change{h.done, h.undone} {
		for i := range list {
			list[i].eachFilm(list[i].hip, do)
		}
	}
}

func (c *change) eachFilm(hip string, do func(hip string, film *Film) *Film) {
	if c.film != nil {
		c.film = do(hip, c.film)
	}
	for i := range c.parts {
		c.parts[i].eachFilm(hip, do)
	}
}

// leave keeps of the open films, which are about to be closed, only what tells them
// again.
func (h *history) leave(s *Session) {
	for _, list := range [][]change{h.done, h.undone} {
		for i := range list {
			if list[i].hip == "" {
				list[i].hip = s.hip.ID // it has one now
			}
		}
	}
	names := map[*Film]*Film{}
	h.eachFilm(func(_ string, f *Film) *Film {
		if s.index(f) < 0 {
			return f
		}
		if names[f] == nil {
			names[f] = &Film{Film: f.Film}
		}
		return names[f]
	})
}

// rejoin puts the films that are open now in the place of those that were left.
func (h *history) rejoin(s *Session) {
	h.eachFilm(func(hip string, f *Film) *Film {
		if hip != s.hip.ID || s.index(f) >= 0 {
			return f
		}
		for _, g := range s.films {
			if f.Facts.SHA256 != "" && f.Facts.SHA256 == g.Facts.SHA256 || f.Path == g.Path {
				return g
			}
		}
		return f
	})
}
