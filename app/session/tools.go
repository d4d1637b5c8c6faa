package session

import (
	"fmt"
	"math"

	"linerwatch/measure"
)

// Button is a mouse button.
type Button int

// The buttons. Secondary drags set the grey window, middle drags pan.
const (
	Primary Button = iota
	Secondary
	Middle
)

// Pointer is a mouse event in view pixels.
type Pointer struct {
	X, Y   float64
	Button Button
}

// Hold is the place at which an outline is held.
type Hold int

// The holds.
const (
	NoHold Hold = iota
	Centre
	Rim
)

// Grip is an outline and where it is held.
type Grip struct {
	Part measure.Part
	Hold Hold
}

// Hover returns what the pointer is over, or what is being dragged.
func (s *Session) Hover() Grip {
	if s.drag.kind == dragOutline {
		return s.drag.grip
	}
	return s.hover
}

// Dragging reports whether the reader is dragging an outline.
func (s *Session) Dragging() bool { return s.drag.kind == dragOutline }

type dragKind int

const (
	dragNone dragKind = iota
	dragOutline
	dragPan
	dragLevel
)

// drag is a mouse gesture under way.
type drag struct {
	kind   dragKind
	grip   Grip
	last   Pointer
	start  measure.Circle // the outline at Press
	from   measure.Point  // the film point at Press
	before memory
	moved  bool
}

// The reach of handles, in units of the screen.
const (
	centreReach = 11
	rimReach    = 7
)

// GripAt returns the handle at view point (x, y): the nearer one, and of two as
// near the one of the chosen outline.
func (s *Session) GripAt(x, y float64) Grip {
	f := s.selected
	if f == nil || f.Draft == nil {
		return Grip{}
	}
	best, least := Grip{}, math.Inf(1)
	for _, part := range []measure.Part{s.part, otherPart(s.part)} {
		c := f.Draft.Trace(part).At
		cx, cy := f.Camera.ToView(c.Center())
		d := math.Hypot(x-cx, y-cy)
		rim := math.Abs(d - c.R*f.Camera.Zoom)
		if d < centreReach*s.viewScale && d < least-1 {
			best, least = Grip{part, Centre}, d
		}
		if rim < rimReach*s.viewScale && rim < least-1 {
			best, least = Grip{part, Rim}, rim
		}
	}
	return best
}

func otherPart(p measure.Part) measure.Part {
	if p == measure.Head {
		return measure.Cup
	}
	return measure.Head
}

// Press begins a gesture: on a handle it drags the outline, elsewhere it pans;
// the secondary button sets the grey window.
func (s *Session) Press(p Pointer) {
	f := s.selected
	if f == nil || f.pixels == nil {
		return
	}
	s.drag = drag{kind: dragPan, last: p}
	if p.Button == Secondary {
		s.drag.kind = dragLevel
		return
	}
	g := s.GripAt(p.X, p.Y)
	if p.Button != Primary || g.Hold == NoHold {
		return
	}
	s.part = g.Part
	s.drag = drag{
		kind: dragOutline, grip: g, last: p,
		start: f.Draft.Trace(g.Part).At, from: f.Camera.ToFilm(p.X, p.Y), before: f.memory(),
	}
	s.changed(OutlineChanged)
}

// Move follows the pointer: with a button held it goes on with the gesture,
// without one it shows which handle is under the pointer.
func (s *Session) Move(p Pointer) {
	f := s.selected
	if f == nil {
		return
	}
	dx, dy := p.X-s.drag.last.X, p.Y-s.drag.last.Y
	s.drag.last.X, s.drag.last.Y = p.X, p.Y
	switch s.drag.kind {
	case dragNone:
		if g := s.GripAt(p.X, p.Y); g != s.hover {
			s.hover = g
			s.changed(OutlineChanged)
		}
	case dragPan:
		s.setCamera(f.Camera.Panned(dx, dy))
	case dragLevel:
		f.Level = f.Level.shifted(dx/s.viewScale, dy/s.viewScale)
		s.changed(ViewChanged)
	case dragOutline:
		s.dragTo(f, f.Camera.ToFilm(p.X, p.Y))
	}
}

// dragTo moves the gripped outline with the film point under the pointer.
func (s *Session) dragTo(f *Film, at measure.Point) {
	c := s.drag.start
	if s.drag.grip.Hold == Centre {
		c.X += at.X - s.drag.from.X
		c.Y += at.Y - s.drag.from.Y
	} else {
		c.R = max(minRadius, c.R+c.Distance(at)-c.Distance(s.drag.from))
	}
	s.drag.moved = true
	part := s.drag.grip.Part
	s.setDraft(f, f.Draft.with(part, f.Draft.Trace(part).put(c)))
}

// Release ends the gesture. A drag of an outline becomes one step of the history.
func (s *Session) Release(Pointer) {
	d, f := s.drag, s.selected
	s.drag = drag{}
	if d.kind != dragOutline || !d.moved || f == nil {
		return
	}
	verb := "move"
	if d.grip.Hold == Rim {
		verb = "resize"
	}
	s.record(change{
		name: fmt.Sprintf("%s %s, %s", verb, PartWord(d.grip.Part), s.label(f)),
		film: f, before: d.before, after: f.memory(),
	})
	s.changed(OutlineChanged)
}

// Leave tells that the pointer has left the viewer.
func (s *Session) Leave() {
	if s.drag.kind == dragNone && s.hover != (Grip{}) {
		s.hover = Grip{}
		s.changed(OutlineChanged)
	}
}

// Scroll zooms by steps at the pointer; positive steps come nearer.
func (s *Session) Scroll(p Pointer, steps float64) {
	const perStep = 1.15
	if f := s.selected; f != nil && f.Camera.Zoom > 0 {
		s.setCamera(f.Camera.ZoomedAt(p.X, p.Y, math.Pow(perStep, steps)))
	}
}
