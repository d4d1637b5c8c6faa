package session

import (
	"math"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// Tool is what clicks on the film do.
type Tool int

// The tools. All but the first end by themselves with their last click.
const (
	Hand       Tool = iota // hold outlines and move the film
	CircleTool             // three points on the edge of the chosen outline
	RingTool               // a wire ring: the ends of its long axis, then a point on the wire
	RimTool                // the ends of the cup's rim
	LineTool               // two points of the reference line
)

// sketch is a shape that is being drawn.
type sketch struct {
	tool   Tool
	points []measure.Click
	at     measure.Point // under the pointer
	down   Pointer       // where the button went down on the last point
}

// Tool returns the tool in hand.
func (m *Mouse) Tool() Tool { return m.sketch.tool }

// SetTool takes a tool to draw on the selected film; with the one in hand already
// it begins again from the first point.
func (m *Mouse) SetTool(t Tool) {
	f := m.s.strip.selected
	m.CancelTool()
	if t == Hand || f == nil || f.pixels == nil {
		return
	}
	switch {
	case !m.s.hipKnown:
		m.s.Say("%s", say("sketch.details-first"))
		return
	case f.Draft == nil && t != CircleTool:
		m.s.Say("%s", say("sketch.outline-first"))
		return
	case t == RingTool:
		m.s.edits.part = measure.Cup
	case t == CircleTool && f.Draft == nil:
		m.s.edits.part = measure.Head
	}
	m.letGo()
	m.sketch = sketch{tool: t}
	m.hint()
	m.s.changed(OutlineChanged | ViewChanged)
}

// otherPart begins a circle again from its first point, of the outline that was just
// chosen.
func (m *Mouse) otherPart() {
	if m.sketch.tool == CircleTool {
		m.sketch = sketch{tool: CircleTool}
		m.hint()
	}
}

// CancelTool puts the tool away; what it has drawn so far is dropped. It reports
// whether there was one.
func (m *Mouse) CancelTool() bool {
	if m.sketch.tool == Hand {
		return false
	}
	m.sketch = sketch{}
	m.CancelLine()
	m.s.Say("")
	m.s.changed(OutlineChanged | ViewChanged)
	return true
}

// hint says what the next click is for.
func (m *Mouse) hint() {
	n := len(m.sketch.points)
	switch m.sketch.tool {
	case CircleTool:
		m.s.Say("%s", say("sketch.circle", "Part", PartWord(m.s.edits.part), "N", n+1))
	case RingTool:
		m.s.Say("%s", say([...]string{"sketch.ring-end", "sketch.ring-other-end", "sketch.ring-between"}[n]))
	case RimTool:
		m.s.Say("%s", say([...]string{"sketch.rim-end", "sketch.rim-other-end"}[n]))
	case LineTool:
		m.s.Say("%s", say([...]string{"sketch.line-end", "sketch.line-other-end"}[n]))
	}
}

// clicks is how many points a tool needs.
func (t Tool) clicks() int { return [...]int{0, 3, 3, 2, 2}[t] }

// place sets the next point of the shape that is being drawn.
func (m *Mouse) place(p Pointer) {
	k, f := &m.sketch, m.s.strip.selected
	k.at = f.Camera.ToFilm(p.X, p.Y)
	k.points = append(k.points, measure.Click{Point: k.at, SD: m.s.edits.clickSD(f)})
	k.down = p
	if len(k.points) < k.tool.clicks() {
		m.hint()
		m.s.changed(OutlineChanged | ViewChanged)
		return
	}
	m.finishSketch(f)
}

// pull is a line drawn by one drag instead of two clicks.
func (m *Mouse) pull(p Pointer) {
	const slip = 12 // units of the screen; a click trembles less
	k := &m.sketch
	if len(k.points) == 1 && k.tool.clicks() == 2 && math.Hypot(p.X-k.down.X, p.Y-k.down.Y) > slip*m.s.viewer.scale {
		m.place(p)
	}
}

// hoverSketch follows the pointer while a shape is drawn.
func (m *Mouse) hoverSketch(p Pointer) {
	k, f := &m.sketch, m.s.strip.selected
	k.at = f.Camera.ToFilm(p.X, p.Y)
	if k.tool == LineTool && len(k.points) == 1 {
		m.PreviewLine(k.points[0].Point, k.at)
	}
	m.s.changed(ViewChanged)
}

// finishSketch makes the drawn shape part of the film's outlines.
func (m *Mouse) finishSketch(f *Film) {
	k := m.sketch
	var err error
	first := f.Draft == nil
	switch k.tool {
	case CircleTool:
		err = m.drawCircle(f, k.points)
	case RingTool:
		err = m.drawRing(f, k.points)
	case RimTool:
		err = m.drawRim(f, k.points[0].Point, k.points[1].Point)
	case LineTool:
		err = m.SetLine(k.points[0].Point, k.points[1].Point)
	}
	m.sketch = sketch{}
	switch {
	case err != nil:
		m.sketch.tool = k.tool // again from the first point
		m.hint()
		m.s.Say("%s", study.Told(err))
	case first: // the cup is still to be placed
		m.s.edits.part, m.sketch.tool = measure.Cup, k.tool
		m.hint()
	case k.tool == CircleTool || k.tool == RingTool:
		m.s.Say("%s", say("sketch.drawn"))
	default:
		m.s.Say("%s", say("sketch.drawn-line"))
	}
	m.s.changed(OutlineChanged | ViewChanged)
}

func (m *Mouse) drawCircle(f *Film, by []measure.Click) error {
	c, err := through(by)
	if err != nil {
		return err
	}
	edits, part := &m.s.edits, m.s.edits.part
	d := edits.middling(f, c)
	if part == measure.Cup {
		d.CupKind = measure.Shell
	}
	d = edits.beside(f, d.with(part, Trace{At: c, Hand: true, By: by}), part)
	edits.stepDraft(f, d, m.s.strip.onPart("step.draw", part, f))
	return nil
}

func (m *Mouse) drawRing(f *Film, by []measure.Click) error {
	e, err := ringBy(by)
	if err != nil {
		return err
	}
	d := *f.Draft
	d.CupKind = measure.Wire
	d.Cup = Trace{}.putRing(e, by[2].SD)
	d.Cup.By = by
	m.s.edits.stepDraft(f, m.s.edits.beside(f, d, measure.Cup), m.s.strip.onFilm("step.draw-ring", f))
	return nil
}

func (m *Mouse) drawRim(f *Film, a, b measure.Point) error {
	rim, err := study.DrawRim(a, b)
	if err != nil {
		return err
	}
	d := *f.Draft
	d.Rim = rim
	m.s.edits.stepDraft(f, d, m.s.strip.onFilm("step.draw-rim", f))
	return nil
}

// ClearRim takes the rim line of the selected film away, as one step; the rim that
// was found on the film takes the place of one that was drawn.
func (e *Edits) ClearRim() {
	if f := e.s.strip.selected; f != nil && f.Draft != nil && f.Draft.Rim.Drawn() {
		d := *f.Draft
		d.Rim = study.Rim{}
		if f.proposal != nil && !f.Draft.Rim.Proposed() {
			d.Rim = f.proposal.Rim
		}
		e.stepDraft(f, d, e.s.strip.onFilm("step.clear-rim", f))
	}
}

// stepDraft shows d on f as one named step.
func (e *Edits) stepDraft(f *Film, d Draft, name study.Note) {
	before := f.memory()
	e.setDraft(f, d)
	e.s.history.record(change{name: name, film: f, before: before, after: f.memory()})
}

// through returns the circle through three clicks.
func through(by []measure.Click) (measure.Circle, error) {
	c, err := measure.CircleThrough([3]measure.Point{by[0].Point, by[1].Point, by[2].Point})
	c.R = max(c.R, minRadius)
	return c, err
}

// ringBy returns the ellipse with the first two clicks at the ends of its long axis
// through the third.
func ringBy(by []measure.Click) (measure.Ellipse, error) {
	e, err := measure.RingThrough(by[0].Point, by[1].Point, by[2].Point)
	if err == nil && e.A < minRadius {
		err = measure.ErrNotAside
	}
	return e, err
}

// Sketch is the shape that is being drawn, as far as it is known.
type Sketch struct {
	Points []measure.Point // placed so far
	Line   [2]measure.Point
	Circle measure.Circle
	Ring   measure.Ellipse
	Part   measure.Part
	Tool   Tool
}

// Sketch returns the shape that is being drawn, its last point under the pointer.
// Shapes that are not known yet are zero.
func (m *Mouse) Sketch() Sketch {
	k := m.sketch
	out := Sketch{Part: m.s.edits.part, Tool: k.tool}
	for _, p := range k.points {
		out.Points = append(out.Points, p.Point)
	}
	if len(k.points) == 0 {
		return out
	}
	last := k.points[len(k.points)-1].Point
	shown := append(k.points[:len(k.points):len(k.points)], measure.Click{Point: k.at})
	switch {
	case k.tool == CircleTool && len(k.points) == 2:
		if c, err := through(shown); err == nil {
			out.Circle = c
		}
	case k.tool == RingTool && len(k.points) == 2:
		if e, err := ringBy(shown); err == nil {
			out.Ring = e
		}
		out.Line = [2]measure.Point{out.Points[0], out.Points[1]}
	case k.tool != LineTool: // which is previewed as the film's own line
		out.Line = [2]measure.Point{last, k.at}
	}
	return out
}
