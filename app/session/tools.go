package session

import (
	"fmt"
	"math"

	"linerwatch/app/study"
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
	Point   // one of the three points of a circle drawn by hand
	Axis    // an end of a wire ring's axes: 0 and 1 of the long one, 2 and 3 of the short one
	LineEnd // of the reference line
	RimEnd  // of the rim line
)

// Grip is an outline, or a line, and where it is held.
type Grip struct {
	Part  measure.Part
	Hold  Hold
	Index int // which of several alike
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
	start  Trace         // the outline at Press
	from   measure.Point // the film point at Press
	before memory
	moved  bool
}

// The reach of handles, in units of the screen.
const (
	centreReach = 11
	rimReach    = 7
)

// GripAt returns the handle at view point (x, y). A point has precedence over the
// rim it lies on; of two as near that of the chosen outline is held, and of two
// centres so near each other that one hides the other.
func (s *Session) GripAt(x, y float64) Grip {
	f := s.selected
	if f == nil || f.Draft == nil {
		return Grip{}
	}
	best, least := Grip{}, centreReach*s.viewScale
	hidden := f.Draft.Head.At.Center().Distance(f.Draft.Cup.At.Center())*f.Camera.Zoom < least
	for _, h := range s.Handles() {
		hx, hy := f.Camera.ToView(h.At)
		if h.Hold == Centre && h.Part != s.part && hidden {
			continue
		}
		if d := math.Hypot(x-hx, y-hy); d < least-1 {
			best, least = h.Grip, d
		}
	}
	if best.Hold != NoHold {
		return best
	}
	p := f.Camera.ToFilm(x, y)
	least = rimReach * s.viewScale
	for _, part := range []measure.Part{s.part, otherPart(s.part)} {
		if d := math.Abs(f.Draft.Trace(part).distance(p)) * f.Camera.Zoom; d < least-1 {
			best, least = Grip{Part: part, Hold: Rim}, d
		}
	}
	return best
}

// distance returns the signed distance of p to the outline as it is drawn.
func (t Trace) distance(p measure.Point) float64 {
	if e := t.ring(); e.A > 0 && e.B > 0 {
		return toEllipse(e, p)
	}
	return t.At.Distance(p)
}

// Handle is a point by which something of the selected film can be held.
type Handle struct {
	Grip
	At measure.Point
}

// Handles returns the points by which something can be held, those of the chosen
// outline first.
func (s *Session) Handles() []Handle {
	f := s.selected
	if f == nil || f.Draft == nil {
		return nil
	}
	var out []Handle
	for _, part := range []measure.Part{s.part, otherPart(s.part)} {
		t := f.Draft.Trace(part)
		out = append(out, Handle{Grip{part, Centre, 0}, t.At.Center()})
		if e := t.ring(); e.A > 0 {
			for i, p := range axisEnds(e) {
				out = append(out, Handle{Grip{part, Axis, i}, p})
			}
			continue
		}
		for i, c := range t.By {
			out = append(out, Handle{Grip{part, Point, i}, c.Point})
		}
	}
	if l := f.Draft.Line; l.From == study.Drawn {
		out = append(out, Handle{Grip{s.part, LineEnd, 0}, l.A}, Handle{Grip{s.part, LineEnd, 1}, l.B})
	}
	if r := f.Draft.Rim; r.Drawn() {
		out = append(out, Handle{Grip{s.part, RimEnd, 0}, r.A}, Handle{Grip{s.part, RimEnd, 1}, r.B})
	}
	return out
}

// axisEnds returns the ends of an ellipse's axes, of the long one first.
func axisEnds(e measure.Ellipse) [4]measure.Point {
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	return [4]measure.Point{
		{X: e.X - e.A*cos, Y: e.Y - e.A*sin}, {X: e.X + e.A*cos, Y: e.Y + e.A*sin},
		{X: e.X + e.B*sin, Y: e.Y - e.B*cos}, {X: e.X - e.B*sin, Y: e.Y + e.B*cos},
	}
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
	if s.sketch.tool != Hand && p.Button == Primary {
		s.drag = drag{}
		s.place(p)
		return
	}
	if p.Button == Secondary {
		s.drag.kind = dragLevel
		return
	}
	g := s.GripAt(p.X, p.Y)
	if p.Button != Primary || g.Hold == NoHold {
		return
	}
	if g.Hold != LineEnd && g.Hold != RimEnd {
		s.part = g.Part
	}
	s.drag = drag{
		kind: dragOutline, grip: g, last: p,
		start: s.bounded(f, *f.Draft).Trace(g.Part), from: f.Camera.ToFilm(p.X, p.Y), before: f.memory(),
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
	seen := s.pointed(p, true)
	switch s.drag.kind {
	case dragNone:
		if s.sketch.tool != Hand {
			s.hoverSketch(p)
			return
		}
		if g := s.GripAt(p.X, p.Y); g != s.hover || g.Hold == Rim || seen {
			s.hover = g
			s.changed(ViewChanged)
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

// dragTo moves what is gripped with the film point under the pointer.
func (s *Session) dragTo(f *Film, at measure.Point) {
	g, t := s.drag.grip, s.drag.start
	s.drag.moved = true
	switch g.Hold {
	case LineEnd:
		l := f.Draft.Line
		ends := [2]measure.Point{l.A, l.B}
		ends[g.Index] = at
		s.PreviewLine(ends[0], ends[1])
		return
	case RimEnd:
		ends := [2]measure.Point{f.Draft.Rim.A, f.Draft.Rim.B}
		ends[g.Index] = at
		if rim, err := study.DrawRim(ends[0], ends[1]); err == nil {
			d := *f.Draft
			d.Rim = rim
			s.setDraft(f, d)
		}
		return
	case Point:
		by := append([]measure.Click(nil), t.By...)
		by[g.Index] = measure.Click{Point: at, SD: s.clickSD(f)}
		c, err := through(by)
		if err != nil {
			return
		}
		t.At, t.By, t.Hand = c, by, true
	case Axis:
		t = t.putRing(pulled(t.ring(), g.Index, at), s.clickSD(f))
	case Centre:
		c := t.At
		c.X += at.X - s.drag.from.X
		c.Y += at.Y - s.drag.from.Y
		t = t.put(c, s.clickSD(f))
	default:
		c := t.At
		c.R = max(minRadius, c.R+t.distance(at)-t.distance(s.drag.from))
		t = t.put(c, s.clickSD(f))
	}
	s.setDraft(f, f.Draft.with(g.Part, t))
}

// pulled returns e with an end of an axis at p: the long axis turns about its other
// end, the short one changes its length.
func pulled(e measure.Ellipse, end int, p measure.Point) measure.Ellipse {
	if end >= 2 {
		sin, cos := math.Sincos(e.Angle * math.Pi / 180)
		e.B = min(max(math.Abs((p.Y-e.Y)*cos-(p.X-e.X)*sin), 1), e.A)
		return e
	}
	fixed := axisEnds(e)[1-end]
	dx, dy := p.X-fixed.X, p.Y-fixed.Y
	if end == 0 {
		dx, dy = -dx, -dy
	}
	n := math.Hypot(dx, dy)
	if n < 2*max(e.B, minRadius) {
		return e
	}
	return measure.Ellipse{X: (p.X + fixed.X) / 2, Y: (p.Y + fixed.Y) / 2, A: n / 2, B: e.B,
		Angle: math.Atan2(dy, dx) * 180 / math.Pi}
}

// Release ends the gesture. A drag of an outline becomes one step of the history.
func (s *Session) Release(p Pointer) {
	d, f := s.drag, s.selected
	s.drag = drag{}
	if f != nil && s.sketch.tool != Hand && p != (Pointer{}) {
		s.pull(p)
		return
	}
	if d.kind != dragOutline || !d.moved || f == nil {
		return
	}
	if d.grip.Hold == LineEnd {
		if l := f.Draft.Line; s.drawing != nil {
			s.stepLine(f, l, "move the reference line, ")
		}
		return
	}
	if d.grip.Hold != RimEnd {
		s.setDraft(f, s.beside(f, *f.Draft, d.grip.Part))
	}
	s.record(change{
		name: fmt.Sprintf("%s, %s", d.grip.verb(), s.label(f)),
		film: f, before: d.before, after: f.memory(),
	})
	s.changed(OutlineChanged)
}

// verb names a drag in the history.
func (g Grip) verb() string {
	switch g.Hold {
	case Rim:
		return "resize " + PartWord(g.Part)
	case Point:
		return "move a point of the " + PartWord(g.Part)
	case Axis:
		return "reshape the wire ring"
	case RimEnd:
		return "move the rim line"
	}
	return "move " + PartWord(g.Part)
}

// Leave tells that the pointer has left the viewer.
func (s *Session) Leave() {
	seen := s.pointed(s.loupe.pointer, false)
	if s.drag.kind == dragNone && (s.hover != (Grip{}) || seen) {
		s.hover = Grip{}
		s.changed(ViewChanged)
	}
}

// Scroll zooms by steps at the pointer; positive steps come nearer.
func (s *Session) Scroll(p Pointer, steps float64) {
	const perStep = 1.15
	if f := s.selected; f != nil && f.Camera.Zoom > 0 {
		s.setCamera(f.Camera.ZoomedAt(p.X, p.Y, math.Pow(perStep, steps)))
	}
}

// HoverRim returns the point of an outline that is under the pointer, where its
// rim is.
func (s *Session) HoverRim() (p measure.Point, ok bool) {
	f, g := s.selected, s.Hover()
	if f == nil || f.Draft == nil || g.Hold != Rim {
		return p, false
	}
	t := f.Draft.Trace(g.Part)
	p = f.Camera.ToFilm(s.loupe.pointer.X, s.loupe.pointer.Y)
	d, c := t.distance(p), t.At
	n := math.Hypot(p.X-c.X, p.Y-c.Y)
	if n == 0 || t.ring().A > 0 {
		return p, n > 0
	}
	return measure.Point{X: p.X - d*(p.X-c.X)/n, Y: p.Y - d*(p.Y-c.Y)/n}, true
}
