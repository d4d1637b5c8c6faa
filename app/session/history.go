package session

import (
	"time"

	"linerwatch/app/study"
)

// history is the list of changes that can be taken back.
type history struct {
	done, undone []change
}

// change is one step: the outlines of a film, or the details of the hip.
type change struct {
	name          string
	film          *Film // nil for a change of the hip
	before, after memory
	again         func(undo bool) error // in place of before and after, for what is no film's and no hip's
	at            time.Time
	joins         string // steps of the same kind that follow quickly become one
}

// memory is what a step restores.
type memory struct {
	draft   *Draft
	changed bool
	view    study.View
	given   study.BeamGiven
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
	c.at = s.cfg.Now()
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
func (s *Session) UndoName() string { return lastName(s.history.done) }

// RedoName returns the name of the step that Redo makes again, or "".
func (s *Session) RedoName() string { return lastName(s.history.undone) }

func lastName(list []change) string {
	if len(list) == 0 {
		return ""
	}
	return list[len(list)-1].name
}

// Undo takes back the last change and shows the film it was made on.
func (s *Session) Undo() {
	s.CancelTool()
	if n := len(s.history.done); n > 0 {
		c := s.history.done[n-1]
		s.history.done = s.history.done[:n-1]
		s.history.undone = append(s.history.undone, c)
		s.restore(c, c.before, true)
		s.Say("Undone: %s", c.name)
	}
}

// Redo makes the change again that Undo took back last.
func (s *Session) Redo() {
	s.CancelTool()
	if n := len(s.history.undone); n > 0 {
		c := s.history.undone[n-1]
		s.history.undone = s.history.undone[:n-1]
		s.history.done = append(s.history.done, c)
		s.restore(c, c.after, false)
		s.Say("Done again: %s", c.name)
	}
}

func (s *Session) restore(c change, m memory, undo bool) {
	s.drag = drag{}
	if c.again != nil {
		if err := c.again(undo); err != nil {
			s.Say("%s", bare(err))
		}
		return
	}
	if c.film == nil {
		s.restoreHip(m)
		return
	}
	if err := s.restoreExclusion(c.film, m); err != nil {
		s.Say("%s", bare(err))
	}
	c.film.Draft, c.film.changed = m.draft, m.changed
	s.restoreFilm(c.film, m)
	c.film.turn++
	s.keep(c.film)
	if c.film != s.selected {
		s.Select(s.index(c.film))
	}
	s.retrend()
	s.changed(OutlineChanged | FilmsChanged)
}

// restoreExclusion takes back, or makes again, the decision to leave f out.
func (s *Session) restoreExclusion(f *Film, m memory) error {
	if now := f.memory(); now.code == m.code && now.note == m.note {
		return nil
	}
	return s.exclude(f, m.code, m.note)
}

// forget drops the steps of a film whose outlines have been accepted and saved:
// a saved reading is superseded, never taken back.
func (s *Session) forget(f *Film) {
	keep := func(list []change) []change {
		out := list[:0]
		for _, c := range list {
			if c.film != f {
				out = append(out, c)
			}
		}
		return out
	}
	s.history.done, s.history.undone = keep(s.history.done), keep(s.history.undone)
}
