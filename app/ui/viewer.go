package ui

import (
	"image"
	"math"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"

	"linerwatch/app/session"
	"linerwatch/app/ui/raster"
	"linerwatch/app/ui/widgets"
)

// viewer joins the picture of the selected film to the session's mouse tools.
type viewer struct {
	object fyne.CanvasObject
	pane   *widgets.Viewer
	s      *session.Session
	frame  raster.Frame
	seen   image.Point // size of what was drawn last, device pixels
	scale  float64     // device pixels a unit, then
	layers layers
	note   *viewerNote
	button widgets.Button
	click  click
	tools  *tools
	loupe  time.Time // when the loupe's key went down; zero where it is up
}

// heldFor is how long a key is down before it counts as held, not as tapped.
const heldFor = 350 * time.Millisecond

// loupeDown shows the loupe, or puts it away; loupeUp puts it away where its key was
// held, so that a tap switches it and a hold shows it for that while.
func (v *viewer) loupeDown() {
	v.loupe = time.Now()
	v.s.Viewer().ToggleLoupe()
}

func (v *viewer) loupeUp() {
	if v.loupe.IsZero() {
		return
	}
	if time.Since(v.loupe) > heldFor {
		v.s.Viewer().SetLoupe(session.NoLoupe)
	}
	v.loupe = time.Time{}
}

// click is where a button went down, and the edge point there; -1 for none.
type click struct {
	x, y float64
	edge int
}

func newViewer(w *window) *viewer {
	v := &viewer{s: w.s, pane: widgets.NewViewer(), layers: layers{outlines: true, edge: -1}, click: click{edge: -1}}
	if t, err := raster.NewType(theme.DefaultTextFont().Content()); err == nil {
		v.frame.Text = t
	}
	v.note = newViewerNote(w)
	p := v.pane
	p.Draw = v.draw
	p.OnPress = func(x, y float64, b widgets.Button) {
		v.button = b
		v.click = click{x, y, -1}
		if b == widgets.Primary {
			v.click.edge = v.pointed(x, y)
		}
		v.s.Mouse().Press(session.Pointer{X: x, Y: y, Button: sessionButton(b)})
	}
	p.OnMove = func(x, y float64) {
		if v.click.edge >= 0 && math.Hypot(x-v.click.x, y-v.click.y) < 4 {
			return // a click on a point may tremble
		}
		v.click.edge = -1
		if v.s.Viewer().Compare() == session.Wipe {
			v.layers.column = x
			v.pane.Redraw()
		}
		v.s.Mouse().Move(session.Pointer{X: x, Y: y, Button: sessionButton(v.button)})
		if i := v.pointed(x, y); i != v.layers.edge {
			v.layers.edge = i
			v.pane.Redraw()
		}
	}
	p.OnRelease = func(x, y float64) {
		v.s.Mouse().Release(session.Pointer{X: x, Y: y})
		if i := v.click.edge; i >= 0 {
			v.click.edge = -1
			w.told(v.s.Edits().ToggleEdge(i))
		}
	}
	p.OnLeave = v.s.Mouse().Leave
	p.OnScroll = func(x, y, n float64) { v.s.Viewer().Scroll(session.Pointer{X: x, Y: y}, n) }
	p.OnKey, p.OnRune = w.key, w.letter
	p.OnDown = func(k fyne.KeyName) { w.held(k, true) }
	p.OnUp = func(k fyne.KeyName) { w.held(k, false) }
	p.Pointing = func() bool { return v.s.Mouse().Hover().Hold != session.NoHold || v.layers.edge >= 0 }
	v.object = container.NewBorder(newTools(w, v), nil, nil, nil, container.NewStack(p, container.New(layout.NewCustomPaddedLayout(12, 12, 12, 12), v.note.object)))
	return v
}

// pointed returns the edge point under the pointer, where edge points are shown
// and nothing is being dragged; -1 for none.
func (v *viewer) pointed(x, y float64) int {
	if !v.layers.edges || v.s.Mouse().Dragging() {
		return -1
	}
	return v.s.Mouse().EdgeAt(x, y)
}

func sessionButton(b widgets.Button) session.Button {
	switch b {
	case widgets.Secondary:
		return session.Secondary
	case widgets.Middle:
		return session.Middle
	}
	return session.Primary
}

// draw makes the picture; the toolkit calls it when it paints.
func (v *viewer) draw(w, h int, scale float64) image.Image {
	v.seen, v.scale = image.Pt(w, h), scale
	v.s.Viewer().SetViewport(float64(w), float64(h), scale)
	f := v.s.Strip().Selected()
	if f == nil {
		v.frame.SetFilm(nil)
	} else {
		v.frame.SetFilm(f.Pixels())
	}
	return v.frame.Draw(scene(v.s, v.layers, w, h, scale))
}

func (v *viewer) show() {
	v.tools.show()
	v.note.show(v.s)
	v.pane.Redraw()
}

// toggle switches a layer.
func (v *viewer) toggle(b *bool) {
	*b = !*b
	v.pane.Redraw()
}
