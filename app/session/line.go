package session

import (
	"math"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// drawing is a reference line under the pointer.
type drawing struct {
	film   *Film
	before memory
}

// Line returns the reference line of f; ok is false where it has none.
func (f *Film) Line() (l study.Line, ok bool) {
	if f == nil || f.Draft == nil {
		return l, false
	}
	return f.Draft.Line, f.Draft.Line.From != study.NoLine
}

// errNoDraft is the error of a line on a film without outlines, of which nothing
// would be read with it.
var errNoDraft = study.NewError("line.no-draft", nil)

// PreviewLine shows the reference line of the selected film from a to b, film
// pixels, while it is being drawn. It makes no step of the history: SetLine ends
// the drawing, CancelLine gives it up. A line that cannot be one, such as that of
// a click, changes nothing.
func (m *Mouse) PreviewLine(a, b measure.Point) {
	f := m.s.strip.selected
	if f == nil || f.Draft == nil {
		return
	}
	l, err := study.DrawLine(a, b, m.s.scaleOf(f))
	if err != nil {
		return
	}
	if m.drawing == nil || m.drawing.film != f {
		m.drawing = &drawing{f, f.memory()}
	}
	m.s.edits.putLine(f, l)
}

// SetLine takes the line from a to b, film pixels, as the reference line of the
// selected film, as one step. Superior and medial of the film follow it.
func (m *Mouse) SetLine(a, b measure.Point) error {
	f := m.s.strip.selected
	if f == nil || f.Draft == nil {
		return errNoDraft
	}
	l, err := study.DrawLine(a, b, m.s.scaleOf(f))
	if err != nil {
		m.CancelLine()
		return err
	}
	m.stepLine(f, l, "step.draw-line")
	return nil
}

// CancelLine gives up a line that is being drawn.
func (m *Mouse) CancelLine() {
	d := m.drawing
	if d == nil {
		return
	}
	m.drawing = nil
	d.film.Draft, d.film.changed = d.before.draft, d.before.changed
	d.film.turn++
	m.s.drafts.keep(d.film)
	m.s.course.renew()
	m.s.changed(OutlineChanged | FilmsChanged)
}

// ClearLine takes the reference line of the selected film away, as one step.
func (e *Edits) ClearLine() error {
	f := e.s.strip.selected
	if f == nil || f.Draft == nil {
		return errNoDraft
	}
	e.s.mouse.CancelLine()
	if f.Draft.Line.From != study.NoLine {
		e.s.mouse.stepLine(f, study.Line{}, "step.clear-line")
	}
	return nil
}

// LineEndAt returns which end of the selected film's drawn line lies at view point
// (x, y): 0 or 1, or -1 where neither does.
func (m *Mouse) LineEndAt(x, y float64) int {
	l, ok := m.s.strip.selected.Line()
	if !ok || l.From != study.Drawn {
		return -1
	}
	best, least := -1, centreReach*m.s.viewer.scale
	for i, p := range []measure.Point{l.A, l.B} {
		vx, vy := m.s.strip.selected.Camera.ToView(p)
		if d := math.Hypot(vx-x, vy-y); d < least {
			best, least = i, d
		}
	}
	return best
}

// stepLine sets a line as one named step, which a preview is part of.
func (m *Mouse) stepLine(f *Film, l study.Line, step string) {
	before := f.memory()
	if m.drawing != nil && m.drawing.film == f {
		before = m.drawing.before
	}
	m.drawing = nil
	m.s.edits.putLine(f, l)
	m.s.history.record(change{name: m.s.strip.onFilm(step, f), film: f, before: before, after: f.memory()})
}

func (e *Edits) putLine(f *Film, l study.Line) {
	d := *f.Draft
	d.Line = l
	e.setDraft(f, d)
}

// scaleOf returns mm per pixel at the hip, 0 where nothing is read.
func (s *Session) scaleOf(f *Film) float64 {
	n := s.Numbers(f)
	if n.Err != nil {
		return 0
	}
	return n.Reading.Scale
}
