package session

import (
	"context"
	"slices"
	"time"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// History is the list of changes that can be taken back, of every hip of the study
// that was opened, each a named step.
type History struct {
	s *Session

	done, undone []change
}

// History returns the changes that can be taken back.
func (s *Session) History() *History { return &s.history }

// forget drops all steps.
func (h *History) forget() { h.done, h.undone = nil, nil }

// change is one step: the outlines of a film, or the details of the hip.
type change struct {
	name          study.Note
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
func (h *History) record(c change) {
	h.s.outdate()
	c.at, c.hip = h.s.cfg.Now(), h.s.hip.ID
	h.undone = nil
	if n := len(h.done); n > 0 && c.joins != "" {
		last := &h.done[n-1]
		if last.joins == c.joins && last.film == c.film && c.at.Sub(last.at) < joinWithin {
			last.after, last.at = c.after, c.at
			return
		}
	}
	h.done = append(h.done, c)
	if n := len(h.done); n > historyLength {
		h.done = h.done[n-historyLength:]
	}
}

// onFilm is the name of a step on a film, which it tells by its place N in the strip.
func (t *Strip) onFilm(code string, f *Film) study.Note {
	return study.Note{Code: code, Values: study.Values{"N": float64(t.number(f))}}
}

// onPart is the name of a step on one outline of a film.
func (t *Strip) onPart(code string, part measure.Part, f *Film) study.Note {
	n := t.onFilm(code, f)
	n.Values["Part"] = PartWord(part)
	return n
}

// UndoName returns the name of the step that Undo takes back, or "".
func (h *History) UndoName() string { return h.lastName(h.done) }

// RedoName returns the name of the step that Redo makes again, or "".
func (h *History) RedoName() string { return h.lastName(h.undone) }

func (h *History) lastName(list []change) string {
	if len(list) == 0 {
		return ""
	}
	c := list[len(list)-1]
	if c.elsewhere(h.s) {
		return study.NoteWords(study.Note{Code: "step.of-hip", Values: study.Values{"Hip": h.s.book.hipLabel(c.hip), "Step": c.name}})
	}
	return study.NoteWords(c.name)
}

// elsewhere reports whether the step was made on a hip that is not open.
func (c change) elsewhere(s *Session) bool { return c.hip != "" && c.hip != s.hip.ID }

// Undo takes back the last change and shows the film it was made on, for which it
// opens the hip. Where that fails, nothing is taken back.
func (h *History) Undo() { h.step(&h.done, &h.undone, true) }

// Redo makes the change again that Undo took back last.
func (h *History) Redo() { h.step(&h.undone, &h.done, false) }

func (h *History) step(from, to *[]change, undo bool) {
	h.s.mouse.CancelTool()
	n := len(*from)
	if n == 0 {
		return
	}
	h.s.mouse.drag = drag{}
	if c := (*from)[n-1]; c.elsewhere(h.s) {
		if err := h.s.OpenHip(c.hip); err != nil {
			h.s.Say("%s", study.Told(err))
			return
		}
	}
	c := (*from)[n-1] // with the films as they are open now
	if err := h.restore(c, undo); err != nil {
		h.s.Say("%s", study.Told(err))
		return
	}
	*from, *to = (*from)[:n-1], append(*to, c)
	said := "step.done-again"
	switch {
	case undo && c.reading != "":
		said = "step.undone-reading"
	case undo:
		said = "step.undone"
	}
	h.s.Say("%s", say(said, "Step", study.NoteWords(c.name)))
}

// restore takes c back, or makes it again.
func (h *History) restore(c change, undo bool) error {
	m := c.after
	if undo {
		m = c.before
	}
	switch {
	case c.again != nil:
		return c.again(undo)
	case c.parts != nil:
		for _, p := range c.parts {
			if err := h.restore(p, undo); err != nil {
				return err
			}
		}
		return nil
	case c.film == nil:
		return h.s.applyHip(m.hip, m.known, "")
	}
	f := c.film
	if h.s.strip.index(f) < 0 {
		return study.NewError("history.not-open", study.Values{"Film": f.Name()})
	}
	if c.reading != "" {
		if err := h.withdraw(f, c.reading, undo); err != nil {
			return err
		}
	}
	if err := h.restoreExclusion(f, m); err != nil {
		return err
	}
	f.Draft, f.changed = m.draft, m.changed
	if !m.changed && (f.Accepted != nil || m.draft == nil) {
		f.Draft = f.found()
	}
	h.s.given.restore(f, m)
	f.turn++
	h.s.drafts.keep(f)
	h.s.work.need(f)
	if f != h.s.strip.selected {
		h.s.strip.Select(h.s.strip.index(f))
	}
	h.s.course.renew()
	h.s.changed(OutlineChanged | FilmsChanged)
	return nil
}

// restoreExclusion takes back, or makes again, the decision to leave f out.
func (h *History) restoreExclusion(f *Film, m memory) error {
	if now := f.memory(); now.code == m.code && now.note == m.note {
		return nil
	}
	return h.s.given.exclude(f, m.code, m.note)
}

// withdraw takes the acceptance of a reading back, or lets the reading stand again.
// Either decision is on disk when it returns; the reading stays as it is.
func (h *History) withdraw(f *Film, reading string, undo bool) error {
	i := slices.IndexFunc(f.Readings, func(r study.Reading) bool { return r.ID == reading })
	if i < 0 {
		return study.NewError("history.no-reading", nil)
	}
	w := study.Withdrawal{ReadingID: reading, Back: !undo, Reader: h.s.settings.Reader, At: h.s.cfg.Now().UTC(), Version: h.s.cfg.Version}
	if err := h.s.book.store.AddWithdrawal(context.Background(), w); err != nil {
		return err
	}
	f.Readings[i].Withdrawn = nil
	if undo {
		f.Readings[i].Withdrawn = &w
	}
	f.Accepted = f.standing(h.s.book.counts)
	h.s.overview.outdated(h.s.hip.ID)
	h.s.drafts.searched(f) // a proposal again, or one no longer
	return nil
}

// rename puts the ID that a hip has now in the place of its old one.
func (h *History) rename(old, now string) {
	for _, list := range [][]change{h.done, h.undone} {
		for i := range list {
			if old != "" && list[i].hip == old {
				list[i].hip = now
			}
		}
	}
}

// eachFilm hands the film of every step to do, which may put another in its place.
func (h *History) eachFilm(do func(hip string, film *Film) *Film) {
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
func (h *History) leave() {
	for _, list := range [][]change{h.done, h.undone} {
		for i := range list {
			if list[i].hip == "" {
				list[i].hip = h.s.hip.ID // it has one now
			}
		}
	}
	names := map[*Film]*Film{}
	h.eachFilm(func(_ string, f *Film) *Film {
		if h.s.strip.index(f) < 0 {
			return f
		}
		if names[f] == nil {
			names[f] = &Film{Film: f.Film}
		}
		return names[f]
	})
}

// rejoin puts the films that are open now in the place of those that were left.
func (h *History) rejoin() {
	h.eachFilm(func(hip string, f *Film) *Film {
		if hip != h.s.hip.ID || h.s.strip.index(f) >= 0 {
			return f
		}
		for _, g := range h.s.strip.films {
			if f.Facts.SHA256 != "" && f.Facts.SHA256 == g.Facts.SHA256 || f.Path == g.Path {
				return g
			}
		}
		return f
	})
}
