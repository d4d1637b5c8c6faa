package widgets

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

// Chart shows a picture made for its size and reports taps and the pointer, in
// device pixels of the picture.
type Chart struct {
	widget.BaseWidget
	Draw    func(w, h int, scale float64) image.Image
	OnTap   func(x, y float64)
	OnHover func(x, y float64) (over bool)
	OnLeave func()
	OnMenu  func(at fyne.Position) // the other button, at a place of the window
	// OnDrag follows a drag, beginning where the button went down; OnDragEnd ends it.
	OnDrag    func(x, y float64)
	OnDragEnd func()
	dragging  bool
	raster    *canvas.Raster
	scale     float64
	pointing  bool
}

var _ interface {
	fyne.Tappable
	fyne.SecondaryTappable
	fyne.Draggable
	desktop.Hoverable
	desktop.Cursorable
} = (*Chart)(nil)

// NewChart returns a chart without a picture.
func NewChart() *Chart {
	c := &Chart{scale: 1}
	c.raster = canvas.NewRaster(c.generate)
	c.raster.SetMinSize(fyne.NewSize(240, 110))
	c.ExtendBaseWidget(c)
	return c
}

// CreateRenderer implements fyne.Widget.
func (c *Chart) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(c.raster) }

// Redraw makes the picture anew before the next frame.
func (c *Chart) Redraw() { c.raster.Refresh() }

func (c *Chart) generate(w, h int) image.Image {
	if width := c.raster.Size().Width; width > 0 {
		c.scale = float64(w) / float64(width)
	}
	if c.Draw == nil || w == 0 || h == 0 {
		return image.NewRGBA(image.Rect(0, 0, w, h))
	}
	return c.Draw(w, h, c.scale)
}

func (c *Chart) device(p fyne.Position) (x, y float64) {
	return float64(p.X) * c.scale, float64(p.Y) * c.scale
}

// Tapped implements fyne.Tappable.
func (c *Chart) Tapped(e *fyne.PointEvent) {
	if x, y := c.device(e.Position); c.OnTap != nil {
		c.OnTap(x, y)
	}
}

// TappedSecondary implements fyne.SecondaryTappable.
func (c *Chart) TappedSecondary(e *fyne.PointEvent) {
	if c.OnMenu != nil {
		c.OnMenu(e.AbsolutePosition)
	}
}

// Picture returns what is shown, with times as many pixels on each side; nil where nothing is.
func (c *Chart) Picture(times int) image.Image {
	size := c.raster.Size()
	w, h := int(float64(size.Width)*c.scale), int(float64(size.Height)*c.scale)
	if c.Draw == nil || w == 0 || h == 0 {
		return nil
	}
	img := c.Draw(w*times, h*times, c.scale*float64(times))
	c.Redraw() // whoever draws may keep where points lie
	return img
}

// Dragged implements fyne.Draggable.
func (c *Chart) Dragged(e *fyne.DragEvent) {
	if c.OnDrag == nil {
		return
	}
	if !c.dragging {
		c.dragging = true
		c.OnDrag(c.device(e.Position.SubtractXY(e.Dragged.DX, e.Dragged.DY)))
	}
	c.OnDrag(c.device(e.Position))
}

// DragEnd implements fyne.Draggable.
func (c *Chart) DragEnd() {
	if c.dragging = false; c.OnDragEnd != nil {
		c.OnDragEnd()
	}
}

// MouseIn implements desktop.Hoverable.
func (c *Chart) MouseIn(e *desktop.MouseEvent) { c.MouseMoved(e) }

// MouseMoved implements desktop.Hoverable.
func (c *Chart) MouseMoved(e *desktop.MouseEvent) {
	if x, y := c.device(e.Position); c.OnHover != nil {
		c.pointing = c.OnHover(x, y)
	}
}

// MouseOut implements desktop.Hoverable.
func (c *Chart) MouseOut() {
	c.pointing = false
	if c.OnLeave != nil {
		c.OnLeave()
	}
}

// Cursor implements desktop.Cursorable.
func (c *Chart) Cursor() desktop.Cursor {
	if c.pointing {
		return desktop.PointerCursor
	}
	return desktop.DefaultCursor
}
