package ui

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/ui/raster"
	"linerwatch/app/ui/widgets"
)

// evidence shows the residuals of the chosen outline's edge points; a click takes
// a point out or in, a drag a sector.
type evidence struct {
	object fyne.CanvasObject
	w      *window
	chart  *widgets.Chart
	title  *canvas.Text
	said   *widget.Label
	text   *raster.Type
	strip  raster.Strip
	list   []session.Residual
	from   float64
	drag   bool
}

func newEvidence(w *window) *evidence {
	e := &evidence{w: w, chart: widgets.NewChart(), title: canvas.NewText("", widgets.Text), said: note("")}
	e.title.TextSize, e.title.TextStyle.Bold = 12.5, true
	e.said.Wrapping, e.said.Truncation = fyne.TextWrapOff, fyne.TextTruncateEllipsis // it must not widen the window
	if t, err := raster.NewType(theme.DefaultTextFont().Content()); err == nil {
		e.text, t.Bare = t, true
	}
	e.strip.Hover = -1
	e.chart.Draw = e.draw
	e.chart.OnTap = e.tap
	e.chart.OnHover = e.hover
	e.chart.OnLeave = func() { e.point(-1) }
	e.chart.OnDrag = e.dragged
	e.chart.OnDragEnd = e.dropped
	head := container.New(layout.NewCustomPaddedLayout(2, 0, 10, 10), container.NewBorder(nil, nil, e.title, nil, e.said))
	e.object = container.NewBorder(head, nil, nil, nil, e.chart)
	return e
}

// show computes what the strip draws.
func (e *evidence) show() {
	s := e.w.s
	e.list = s.Edits().Residuals()
	e.strip.Points = e.strip.Points[:0]
	kept := 0
	for _, r := range e.list {
		e.strip.Points = append(e.strip.Points, raster.StripPoint{Angle: r.Angle, Residual: r.Px, Kept: r.Kept, None: r.None})
		if r.Kept {
			kept++
		}
	}
	title := say("viewer.no-edge-points")
	if f := s.Strip().Selected(); f != nil && f.Draft != nil && len(e.list) > 0 {
		o := f.Draft.Trace(s.Edits().Part()).Outline()
		title = say("viewer.points-kept", "Part", session.PartWord(s.Edits().Part()), "N", kept, "Of", len(e.list), "Arc", o.Arc, "RMS", o.RMS)
	}
	e.title.Text = title
	e.title.Refresh()
	if e.strip.Hover < 0 {
		e.said.SetText(e.note())
	}
	e.chart.Redraw()
}

// note tells what can be done here.
func (e *evidence) note() string {
	return say("viewer.click-point", "Back", e.w.keyLabel(chooseHead), "On", e.w.keyLabel(chooseCup))
}

func (e *evidence) draw(w, h int, scale float64) image.Image {
	t := &e.strip
	t.Width, t.Height, t.Scale = w, h, scale
	t.Color = widgets.Head
	if e.w.s.Edits().Part() == session.Cup {
		t.Color = widgets.Cup
	}
	t.Left, t.Ground, t.Text = widgets.Fault, widgets.Ground, widgets.Muted
	return t.Draw(e.text)
}

func (e *evidence) tap(x, y float64) {
	if i := e.strip.Nearest(x, y); i >= 0 {
		e.w.told(e.w.s.Edits().ToggleEdge(e.list[i].Index))
	}
}

func (e *evidence) hover(x, y float64) bool {
	i := e.strip.Nearest(x, y)
	e.point(i)
	return i >= 0
}

// point shows point i, in the strip and on the film.
func (e *evidence) point(i int) {
	if i == e.strip.Hover {
		return
	}
	e.strip.Hover = i
	said := e.note()
	e.w.films.view.layers.edge = -1
	if i >= 0 && i < len(e.list) {
		said = e.w.s.Edits().EdgeWords(e.list[i].Index)
		e.w.films.view.layers.edge = e.list[i].Index
	}
	e.said.SetText(said)
	e.chart.Redraw()
	e.w.films.view.pane.Redraw()
}

func (e *evidence) dragged(x, _ float64) {
	if !e.drag {
		e.drag, e.from = true, e.strip.Angle(x)
	}
	e.strip.From, e.strip.To = e.from, e.strip.Angle(x)
	e.chart.Redraw()
}

func (e *evidence) dropped() {
	if !e.drag {
		return
	}
	from, to := e.strip.From, e.strip.To
	e.drag, e.strip.From, e.strip.To = false, 0, 0
	e.w.told(e.w.s.Edits().ToggleSector(from, to))
	e.chart.Redraw()
}
