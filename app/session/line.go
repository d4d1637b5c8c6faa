package session

import (
	"errors"
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
func (s *Session) Line(f *Film) (l study.Line, ok bool) {
	if f == nil || f.Draft == nil {
		return l, false
	}
	return f.Draft.Line, f.Draft.Line.From != study.NoLine
}

// errNoDraft is the error of a line on a film without outlines, of which nothing
// would be read with it.
var errNoDraft = errors.New("session: outline head and cup first, then draw the reference line")

// PreviewLine shows the reference line of the selected film from a to b, film
// pixels, while it is being drawn. It makes no step of the history: SetLine ends
// the drawing, CancelLine gives it up. A line that cannot be one, such as that of
// a click, changes nothing.
func (s *Session) PreviewLine(a, b measure.Point) {
	f := s.selected
	if f == nil || f.Draft == nil {
		return
	}
	l, err := study.DrawLine(a, b, s.scaleOf(f))
	if err != nil {
		return
	}
	if s.drawing == nil || s.drawing.film != f {
		s.drawing = &drawing{f, f.memory()}
	}
	s.putLine(f, l)
}

// SetLine takes the line from a to b, film pixels, as the reference line of the
// selected film, as one step. Superior and medial of the film follow it.
func (s *Session) SetLine(a, b measure.Point) error {
	f := s.selected
	if f == nil || f.Draft == nil {
		return errNoDraft
	}
	l, err := study.DrawLine(a, b, s.scaleOf(f))
	if err != nil {
		s.CancelLine()
		return err
	}
	s.stepLine(f, l, "draw the reference line, ")
	return nil
}

// CancelLine gives up a line that is being drawn.
func (s *Session) CancelLine() {
	d := s.drawing
	if d == nil {
		return
	}
	s.drawing = nil
	d.film.Draft, d.film.changed = d.before.draft, d.before.changed
	d.film.turn++
	s.keep(d.film)
	s.retrend()
	s.changed(OutlineChanged | FilmsChanged)
}

// ClearLine takes the reference line of the selected film away, as one step.
func (s *Session) ClearLine() error {
	f := s.selected
	if f == nil || f.Draft == nil {
		return errNoDraft
	}
	s.CancelLine()
	if f.Draft.Line.From != study.NoLine {
		s.stepLine(f, study.Line{}, "clear the reference line, ")
	}
	return nil
}

// LineEndAt returns which end of the selected film's drawn line lies at view point
// (x, y): 0 or 1, or -1 where neither does.
func (s *Session) LineEndAt(x, y float64) int {
	l, ok := s.Line(s.selected)
	if !ok || l.From != study.Drawn {
		return -1
	}
	best, least := -1, centreReach*s.viewScale
	for i, p := range []measure.Point{l.A, l.B} {
		vx, vy := s.selected.Camera.ToView(p)
		if d := math.Hypot(vx-x, vy-y); d < least {
			best, least = i, d
		}
	}
	return best
}

// stepLine sets a line as one named step, which a preview is part of.
func (s *Session) stepLine(f *Film, l study.Line, verb string) {
	before := f.memory()
	if s.drawing != nil && s.drawing.film == f {
		before = s.drawing.before
	}
	s.drawing = nil
	s.putLine(f, l)
	s.record(change{name: verb + s.label(f), film: f, before: before, after: f.memory()})
}

func (s *Session) putLine(f *Film, l study.Line) {
	d := *f.Draft
	d.Line = l
	s.setDraft(f, d)
}

// scaleOf returns mm per pixel at the hip, 0 where nothing is read.
func (s *Session) scaleOf(f *Film) float64 {
	n := s.Numbers(f)
	if n.Err != nil {
		return 0
	}
	return n.Reading.Scale
}
