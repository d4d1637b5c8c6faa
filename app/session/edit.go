package session

import (
	"fmt"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// The parts and outlines of package measure, for those who only know this package.
type (
	Part    = measure.Part
	Outline = measure.Outline
	// FilmPoint is a point of a film, film pixels.
	FilmPoint = measure.Point
)

// The two outlined parts.
const (
	Head = measure.Head
	Cup  = measure.Cup
)

// PartWord returns the trade's word for an outline.
func PartWord(p measure.Part) string {
	if p == measure.Cup {
		return "cup"
	}
	return "head"
}

// Part returns the outline that the keys act on.
func (s *Session) Part() measure.Part { return s.part }

// SetPart chooses the outline that the keys act on.
func (s *Session) SetPart(p measure.Part) {
	if s.part = p; s.sketch.tool == CircleTool {
		s.sketch = sketch{tool: CircleTool} // of the other outline from its first point
		s.hint()
	}
	s.changed(OutlineChanged)
}

// minRadius keeps an outline from vanishing under the pointer, px.
const minRadius = 3

// memory returns what a step on f needs to restore f as it is now.
func (f *Film) memory() memory {
	m := memory{draft: f.Draft, changed: f.changed, found: f.findings, given: f.Given}
	if f.Excluded != nil {
		m.code, m.note = f.Excluded.Code, f.Excluded.Note
	}
	return m
}

// setDraft shows d on f as the reader's own.
func (s *Session) setDraft(f *Film, d Draft) {
	d = s.bounded(f, d)
	f.Draft, f.changed = &d, true
	f.turn++
	s.keep(f)
	s.retrend()
	s.changed(OutlineChanged | FilmsChanged)
}

// Nudge moves the chosen outline by (dx, dy) film pixels.
func (s *Session) Nudge(dx, dy float64) {
	s.adjust("move", func(c measure.Circle) measure.Circle {
		return measure.Circle{X: c.X + dx, Y: c.Y + dy, R: c.R}
	})
}

// Grow changes the radius of the chosen outline by dr film pixels.
func (s *Session) Grow(dr float64) {
	s.adjust("resize", func(c measure.Circle) measure.Circle {
		return measure.Circle{X: c.X, Y: c.Y, R: max(c.R+dr, minRadius)}
	})
}

// adjust changes the chosen outline of the selected film as one named step.
func (s *Session) adjust(verb string, f func(measure.Circle) measure.Circle) {
	film := s.selected
	if film == nil || film.Draft == nil || s.drag.kind != dragNone {
		return
	}
	before := film.memory()
	t := s.bounded(film, *film.Draft).Trace(s.part)
	s.setDraft(film, s.beside(film, film.Draft.with(s.part, t.put(f(t.At), s.clickSD(film))), s.part))
	name := fmt.Sprintf("%s %s, %s", verb, PartWord(s.part), s.label(film))
	s.record(change{name: name, film: film, before: before, after: film.memory(), joins: verb + PartWord(s.part)})
}

// Refine fits the chosen outline to the film's edge, starting from where it is.
// The fit runs in the background; its result is dropped where the outline has
// been changed meanwhile.
func (s *Session) Refine() { s.refine(s.part) }

// RefineBoth fits head and cup.
func (s *Session) RefineBoth() { s.refine(measure.Head, measure.Cup) }

func (s *Session) refine(parts ...measure.Part) {
	film := s.selected
	if film == nil || film.Draft == nil || film.pixels == nil || s.drag.kind != dragNone {
		return
	}
	turn, start, fit := film.turn, *film.Draft, s.finder(film)
	img, file := film.pixels, film.file
	s.Say("Refining to the edge …")
	go func() {
		d := start
		var fault error
		for _, part := range parts {
			o, err := fit(d, part)
			if err != nil {
				fault = fmt.Errorf("%s: %w", PartWord(part), err)
				break
			}
			d = d.with(part, fitted(o))
		}
		if fault == nil {
			d.Rim = d.rimAfter(start, batch.BoneBright(file, img, d.Head.At, d.Cup.At))
		}
		s.cfg.Post(func() { s.refined(film, turn, d, parts, fault) })
	}()
}

// finder returns the function that fits one outline of film, from where it is.
func (s *Session) finder(film *Film) func(d Draft, part measure.Part) (measure.Outline, error) {
	shown, file, refine, ring := film.pixels, film.file, s.cfg.Refine, s.cfg.RefineRing
	headMM := s.options(film).HeadMM
	return func(d Draft, part measure.Part) (measure.Outline, error) {
		img := batch.BoneBright(file, shown, d.Head.At, d.Cup.At)
		if part == measure.Cup && d.CupKind == measure.Wire {
			return ring(img, d.Cup.ring(), d.Head.At, headMM)
		}
		return refine(img, d.Trace(part).At, part)
	}
}

func (s *Session) refined(film *Film, turn int, d Draft, parts []measure.Part, err error) {
	if err != nil {
		s.Say("No edge to fit here, nothing was moved (%s). Bring the circle nearer and try again.", study.Plain(err))
		return
	}
	if film.turn != turn {
		s.Say("The outline was moved while it was being refined; refine again.")
		return
	}
	what := "head and cup"
	if len(parts) == 1 {
		what = PartWord(parts[0])
	}
	before := film.memory()
	s.setDraft(film, d)
	s.record(change{name: fmt.Sprintf("refine %s, %s", what, s.label(film)), film: film, before: before, after: film.memory()})
	s.Say("Refined %s to the edge.", what)
}

// DrawByHand puts a head and a cup in the middle of the view, to be dragged onto
// the film and refined: the way on where nothing was found.
func (s *Session) DrawByHand() {
	film := s.selected
	if film == nil || film.pixels == nil || !s.hipKnown {
		return
	}
	at := film.Camera.ToFilm(s.viewW/2, s.viewH/2)
	d := s.middling(nil, measure.Circle{X: at.X, Y: at.Y, R: s.headPixels(film)})
	if film.Draft != nil {
		d.Line, d.Rim = film.Draft.Line, film.Draft.Rim
	}
	s.stepDraft(film, d, "draw by hand")
	s.Say("Drag both circles onto the film, then refine.")
}

// headPixels returns the radius of a head on f before it is known; only a start.
func (s *Session) headPixels(f *Film) float64 {
	spacing := f.Imager
	if spacing == 0 {
		spacing = f.Facts.SpacingMM
	}
	if spacing > 0 {
		return s.hip.Implant.HeadMM / 2 * measure.MiddlingMagnification / spacing
	}
	return s.viewH / f.Camera.Zoom / 12
}

// middlingShellMM is a start for a cup that is not known yet.
const middlingShellMM = 54.0

// middling returns the outlines of f, or where there are none head and a middling
// cup about one centre.
func (s *Session) middling(f *Film, head measure.Circle) Draft {
	if f != nil && f.Draft != nil {
		return *f.Draft
	}
	cup := head
	cup.R *= middlingShellMM / s.hip.Implant.HeadMM
	return Draft{CupKind: measure.Shell, Head: rough(head), Cup: rough(cup)}
}

// Discard drops the reader's changes: back to the accepted reading, or to the
// program's proposal.
func (s *Session) Discard() {
	film := s.selected
	if film == nil || !film.changed {
		return
	}
	before := film.memory()
	film.Draft, film.changed = film.found(), false
	film.turn++
	s.keep(film)
	s.need(film)
	s.record(change{name: "discard changes, " + s.label(film), film: film, before: before, after: film.memory()})
	s.retrend()
	s.changed(OutlineChanged | FilmsChanged)
}

// found returns the outlines before the reader changed them.
func (f *Film) found() *Draft {
	if f.Accepted != nil {
		d := draftOf(f.Accepted.Measurement)
		return &d
	}
	return f.proposal
}
