package session

import (
	"context"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
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
func (e *Edits) Part() measure.Part { return e.part }

// SetPart chooses the outline that the keys act on.
func (e *Edits) SetPart(p measure.Part) {
	e.part = p
	e.s.mouse.otherPart()
	e.s.changed(OutlineChanged)
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
func (e *Edits) setDraft(f *Film, d Draft) {
	e.s.notice.baseline = ""
	if e.s.mouse.drag.moved {
		e.s.outdate() // before the step is done
	}
	d = e.s.bounded(f, d)
	f.Draft, f.changed = &d, true
	f.turn++
	e.s.drafts.keep(f)
	e.s.course.renew()
	e.s.changed(OutlineChanged | FilmsChanged)
}

// Nudge moves the chosen outline by (dx, dy) film pixels.
func (e *Edits) Nudge(dx, dy float64) {
	e.adjust("step.move", func(c measure.Circle) measure.Circle {
		return measure.Circle{X: c.X + dx, Y: c.Y + dy, R: c.R}
	})
}

// Grow changes the radius of the chosen outline by dr film pixels.
func (e *Edits) Grow(dr float64) {
	e.adjust("step.resize", func(c measure.Circle) measure.Circle {
		return measure.Circle{X: c.X, Y: c.Y, R: max(c.R+dr, minRadius)}
	})
}

// adjust changes the chosen outline of the selected film as one named step.
func (e *Edits) adjust(step string, f func(measure.Circle) measure.Circle) {
	film := e.s.strip.selected
	if film == nil || film.Draft == nil || e.s.mouse.busy() {
		return
	}
	before := film.memory()
	t := e.s.bounded(film, *film.Draft).Trace(e.part)
	e.setDraft(film, e.beside(film, film.Draft.with(e.part, t.put(f(t.At), e.clickSD(film))), e.part))
	e.s.history.record(change{name: e.s.strip.onPart(step, e.part, film), film: film, before: before, after: film.memory(), joins: step + PartWord(e.part)})
}

// Refine fits the chosen outline to the film's edge, starting from where it is.
// The fit runs in the background; its result is dropped where the outline has
// been changed meanwhile.
func (e *Edits) Refine() { e.refine(e.part) }

// RefineBoth fits head and cup.
func (e *Edits) RefineBoth() { e.refine(measure.Head, measure.Cup) }

func (e *Edits) refine(parts ...measure.Part) {
	film := e.s.strip.selected
	if film == nil || film.Draft == nil || film.pixels == nil || e.s.mouse.busy() {
		return
	}
	turn, start, fit := film.turn, *film.Draft, e.finder(film)
	img, file := film.pixels, film.file
	e.s.Say("%s", say("outline.refining"))
	e.s.work.queue.Start(jobs.Job{For: film, Aside: true, Run: func(context.Context, jobs.Step) func() {
		d := start
		var fault error
		for _, part := range parts {
			o, err := fit(d, part)
			if err != nil {
				fault = study.WrapError(err, "refine.part", study.Values{"Part": PartWord(part), "Why": study.NoteOf(err)})
				break
			}
			d = d.with(part, fitted(o))
		}
		if fault == nil {
			d.Rim = d.rimAfter(start, batch.BoneBright(file, img, d.Head.At, d.Cup.At))
		}
		return func() { e.refined(film, turn, d, parts, fault) }
	}})
}

// finder returns the function that fits one outline of film, from where it is.
func (e *Edits) finder(film *Film) func(d Draft, part measure.Part) (measure.Outline, error) {
	shown, file, refine, ring := film.pixels, film.file, e.s.cfg.Refine, e.s.cfg.RefineRing
	headMM := e.s.work.options(film).HeadMM
	return func(d Draft, part measure.Part) (measure.Outline, error) {
		img := batch.BoneBright(file, shown, d.Head.At, d.Cup.At)
		if part == measure.Cup && d.CupKind == measure.Wire {
			return ring(img, d.Cup.ring(), d.Head.At, headMM)
		}
		return refine(img, d.Trace(part).At, part)
	}
}

func (e *Edits) refined(film *Film, turn int, d Draft, parts []measure.Part, err error) {
	if e.s.strip.index(film) < 0 {
		return // taken out meanwhile, or another hip was opened
	}
	where := "" // where another film is in the viewer by now, its name
	if film != e.s.strip.selected {
		where = e.s.strip.label(film)
	}
	if err != nil {
		e.s.Say("%s", say("outline.no-edge", "Film", where, "Why", study.Told(err)))
		return
	}
	if film.turn != turn {
		e.s.Say("%s", say("outline.moved-meanwhile", "Film", where))
		return
	}
	part, step := "both", e.s.strip.onFilm("step.refine-both", film)
	if len(parts) == 1 {
		part, step = PartWord(parts[0]), e.s.strip.onPart("step.refine", parts[0], film)
	}
	before := film.memory()
	e.setDraft(film, d)
	e.s.history.record(change{name: step, film: film, before: before, after: film.memory()})
	e.s.Say("%s", say("outline.refined", "Part", part, "Film", where))
}

// DrawByHand puts a head and a cup in the middle of the view, to be dragged onto
// the film and refined: the way on where nothing was found.
func (e *Edits) DrawByHand() {
	film := e.s.strip.selected
	if film == nil || film.pixels == nil || !e.s.hipKnown {
		return
	}
	at := film.Camera.ToFilm(e.s.viewer.width/2, e.s.viewer.height/2)
	d := e.middling(nil, measure.Circle{X: at.X, Y: at.Y, R: e.headPixels(film)})
	if film.Draft != nil {
		d.Line, d.Rim = film.Draft.Line, film.Draft.Rim
	}
	e.stepDraft(film, d, e.s.strip.onFilm("step.by-hand", film))
	e.s.Say("%s", say("outline.drag-first"))
}

// headPixels returns the radius of a head on f before it is known; only a start.
func (e *Edits) headPixels(f *Film) float64 {
	spacing := f.Imager
	if spacing == 0 {
		spacing = f.Facts.SpacingMM
	}
	if spacing > 0 {
		return e.s.hip.Implant.HeadMM / 2 * measure.MiddlingMagnification / spacing
	}
	return e.s.viewer.height / f.Camera.Zoom / 12
}

// middlingShellMM is a start for a cup that is not known yet.
const middlingShellMM = 54.0

// middling returns the outlines of f, or where there are none head and a middling
// cup about one centre.
func (e *Edits) middling(f *Film, head measure.Circle) Draft {
	if f != nil && f.Draft != nil {
		return *f.Draft
	}
	cup := head
	cup.R *= middlingShellMM / e.s.hip.Implant.HeadMM
	return Draft{CupKind: measure.Shell, Head: rough(head), Cup: rough(cup)}
}

// Discard drops the reader's changes: back to the accepted reading, or to the
// program's proposal.
func (e *Edits) Discard() {
	film := e.s.strip.selected
	if film == nil || !film.changed {
		return
	}
	before := film.memory()
	film.Draft, film.changed = film.found(), false
	film.turn++
	e.s.drafts.keep(film)
	e.s.work.need(film)
	e.s.history.record(change{name: e.s.strip.onFilm("step.discard", film), film: film, before: before, after: film.memory()})
	e.s.course.renew()
	e.s.changed(OutlineChanged | FilmsChanged)
}

// found returns the outlines before the reader changed them.
func (f *Film) found() *Draft {
	if f.Accepted != nil {
		d := draftOf(f.Accepted.Measurement)
		return &d
	}
	return f.proposal
}
