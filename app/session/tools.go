package session

import (
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
func (m *Mouse) Hover() Grip {
	if m.drag.kind == dragOutline {
		return m.drag.grip
	}
	return m.hover
}

// Dragging reports whether the reader is dragging an outline.
func (m *Mouse) Dragging() bool { return m.drag.kind == dragOutline }

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
func (m *Mouse) GripAt(x, y float64) Grip {
	f := m.s.strip.selected
	if f == nil || f.Draft == nil {
		return Grip{}
	}
	chosen := m.s.edits.part
	best, least := Grip{}, centreReach*m.s.viewer.scale
	hidden := f.Draft.Head.At.Center().Distance(f.Draft.Cup.At.Center())*f.Camera.Zoom < least
	for _, h := range m.Handles() {
		hx, hy := f.Camera.ToView(h.At)
		if h.Hold == Centre && h.Part != chosen && hidden {
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
	least = rimReach * m.s.viewer.scale
	for _, part := range []measure.Part{chosen, otherPart(chosen)} {
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
func (m *Mouse) Handles() []Handle {
	f := m.s.strip.selected
	if f == nil || f.Draft == nil {
		return nil
	}
	chosen := m.s.edits.part
	var out []Handle
	for _, part := range []measure.Part{chosen, otherPart(chosen)} {
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
		out = append(out, Handle{Grip{chosen, LineEnd, 0}, l.A}, Handle{Grip{chosen, LineEnd, 1}, l.B})
	}
	if r := f.Draft.Rim; r.Drawn() {
		out = append(out, Handle{Grip{chosen, RimEnd, 0}, r.A}, Handle{Grip{chosen, RimEnd, 1}, r.B})
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
func (m *Mouse) Press(p Pointer) {
	f := m.s.strip.selected
	if f == nil || f.pixels == nil {
		return
	}
	m.drag = drag{kind: dragPan, last: p}
	if m.sketch.tool != Hand && p.Button == Primary {
		m.drag = drag{}
		m.place(p)
		return
	}
	if p.Button == Secondary {
		m.drag.kind = dragLevel
		return
	}
	g := m.GripAt(p.X, p.Y)
	if p.Button != Primary || g.Hold == NoHold {
		return
	}
	if g.Hold != LineEnd && g.Hold != RimEnd {
		m.s.edits.part = g.Part
	}
	m.drag = drag{
		kind: dragOutline, grip: g, last: p,
		start: m.s.bounded(f, *f.Draft).Trace(g.Part), from: f.Camera.ToFilm(p.X, p.Y), before: f.memory(),
	}
	m.s.changed(OutlineChanged)
}

// Move follows the pointer: with a button held it goes on with the gesture,
// without one it shows which handle is under the pointer.
func (m *Mouse) Move(p Pointer) {
	f := m.s.strip.selected
	if f == nil {
		return
	}
	dx, dy := p.X-m.drag.last.X, p.Y-m.drag.last.Y
	m.drag.last.X, m.drag.last.Y = p.X, p.Y
	seen := m.s.viewer.pointed(p, true)
	switch m.drag.kind {
	case dragNone:
		if m.sketch.tool != Hand {
			m.hoverSketch(p)
			return
		}
		if g := m.GripAt(p.X, p.Y); g != m.hover || g.Hold == Rim || seen {
			m.hover = g
			m.s.changed(ViewChanged)
		}
	case dragPan:
		m.s.viewer.setCamera(f.Camera.Panned(dx, dy))
	case dragLevel:
		f.Level = f.Level.shifted(dx/m.s.viewer.scale, dy/m.s.viewer.scale)
		m.s.changed(ViewChanged)
	case dragOutline:
		m.dragTo(f, f.Camera.ToFilm(p.X, p.Y))
	}
}

// dragTo moves what is gripped with the film point under the pointer.
func (m *Mouse) dragTo(f *Film, at measure.Point) {
	g, t := m.drag.grip, m.drag.start
	m.drag.moved = true
	switch g.Hold {
	case LineEnd:
		l := f.Draft.Line
		ends := [2]measure.Point{l.A, l.B}
		ends[g.Index] = at
		m.PreviewLine(ends[0], ends[1])
		return
	case RimEnd:
		ends := [2]measure.Point{f.Draft.Rim.A, f.Draft.Rim.B}
		ends[g.Index] = at
		if rim, err := study.DrawRim(ends[0], ends[1]); err == nil {
			d := *f.Draft
			d.Rim = rim
			m.s.edits.setDraft(f, d)
		}
		return
	case Point:
		by := append([]measure.Click(nil), t.By...)
		by[g.Index] = measure.Click{Point: at, SD: m.s.edits.clickSD(f)}
		c, err := through(by)
		if err != nil {
			return
		}
		t.At, t.By, t.Hand = c, by, true
	case Axis:
		t = t.putRing(pulled(t.ring(), g.Index, at), m.s.edits.clickSD(f))
	case Centre:
		c := t.At
		c.X += at.X - m.drag.from.X
		c.Y += at.Y - m.drag.from.Y
		t = t.put(c, m.s.edits.clickSD(f))
	default:
		c := t.At
		c.R = max(minRadius, c.R+t.distance(at)-t.distance(m.drag.from))
		t = t.put(c, m.s.edits.clickSD(f))
	}
	m.s.edits.setDraft(f, f.Draft.with(g.Part, t))
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
func (m *Mouse) Release(p Pointer) {
	d, f := m.drag, m.s.strip.selected
	m.drag = drag{}
	if f != nil && m.sketch.tool != Hand && p != (Pointer{}) {
		m.pull(p)
		return
	}
	if d.kind != dragOutline || !d.moved || f == nil {
		return
	}
	if d.grip.Hold == LineEnd {
		if l := f.Draft.Line; m.drawing != nil {
			m.stepLine(f, l, "step.move-line")
		}
		return
	}
	if d.grip.Hold != RimEnd {
		m.s.edits.setDraft(f, m.s.edits.beside(f, *f.Draft, d.grip.Part))
	}
	m.s.history.record(change{
		name: m.s.strip.onPart(d.grip.step(), d.grip.Part, f),
		film: f, before: d.before, after: f.memory(),
	})
	m.s.changed(OutlineChanged)
}

// step is the code of a drag in the history.
func (g Grip) step() string {
	switch g.Hold {
	case Rim:
		return "step.resize"
	case Point:
		return "step.point"
	case Axis:
		return "step.reshape-ring"
	case RimEnd:
		return "step.move-rim"
	}
	return "step.move"
}

// Leave tells that the pointer has left the viewer.
func (m *Mouse) Leave() {
	seen := m.s.viewer.pointed(m.s.viewer.loupe.pointer, false)
	if m.drag.kind == dragNone && (m.hover != (Grip{}) || seen) {
		m.hover = Grip{}
		m.s.changed(ViewChanged)
	}
}

// Scroll zooms by steps at the pointer; positive steps come nearer.
func (v *Viewer) Scroll(p Pointer, steps float64) {
	const perStep = 1.15
	if f := v.s.strip.selected; f != nil && f.Camera.Zoom > 0 {
		v.setCamera(f.Camera.ZoomedAt(p.X, p.Y, math.Pow(perStep, steps)))
	}
}

// HoverRim returns the point of an outline that is under the pointer, where its
// rim is.
func (m *Mouse) HoverRim() (p measure.Point, ok bool) {
	f, g := m.s.strip.selected, m.Hover()
	if f == nil || f.Draft == nil || g.Hold != Rim {
		return p, false
	}
	t := f.Draft.Trace(g.Part)
	p = f.Camera.ToFilm(m.s.viewer.loupe.pointer.X, m.s.viewer.loupe.pointer.Y)
	d, c := t.distance(p), t.At
	n := math.Hypot(p.X-c.X, p.Y-c.Y)
	if n == 0 || t.ring().A > 0 {
		return p, n > 0
	}
	return measure.Point{X: p.X - d*(p.X-c.X)/n, Y: p.Y - d*(p.Y-c.Y)/n}, true
}
