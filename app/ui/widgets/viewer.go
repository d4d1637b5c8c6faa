package widgets

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

// Button is a mouse button of the viewer's events.
type Button int

// The buttons.
const (
	NoButton Button = iota
	Primary
	Secondary
	Middle
)

// Viewer shows a picture that is made for its size in device pixels, and reports
// pointer and keys. Positions are in device pixels of the picture.
type Viewer struct {
	widget.BaseWidget

	// Draw makes the picture; scale is device pixels per unit of the screen.
	Draw func(w, h int, scale float64) image.Image

	OnPress   func(x, y float64, b Button)
	OnMove    func(x, y float64)
	OnRelease func(x, y float64)
	OnLeave   func()
	OnScroll  func(x, y, steps float64)
	OnKey     func(key fyne.KeyName, shift bool)
	OnRune    func(r rune)
	OnDown    func(key fyne.KeyName) // once, however long the key is held
	OnUp      func(key fyne.KeyName)
	// Pointing reports whether the pointer is over something to hold.
	Pointing func() bool

	raster *canvas.Raster
	ring   *canvas.Rectangle
	scale  float64
	shift  bool
	x, y   float64 // where the pointer was last
}

// A missing method would fail silently.
var _ interface {
	fyne.Draggable
	fyne.Scrollable
	fyne.Focusable
	desktop.Keyable
	desktop.Mouseable
	desktop.Hoverable
	desktop.Cursorable
} = (*Viewer)(nil)

// NewViewer returns a viewer without a picture.
func NewViewer() *Viewer {
	v := &Viewer{scale: 1}
	v.raster = canvas.NewRaster(v.generate)
	v.ring = canvas.NewRectangle(nil)
	v.ring.StrokeWidth = 2
	v.ring.StrokeColor = Focus
	v.ring.Hide()
	v.ExtendBaseWidget(v)
	return v
}

// CreateRenderer implements fyne.Widget.
func (v *Viewer) CreateRenderer() fyne.WidgetRenderer {
	return &viewerRenderer{v: v, objects: []fyne.CanvasObject{v.raster, v.ring}}
}

// Redraw makes the picture anew before the next frame.
func (v *Viewer) Redraw() { v.raster.Refresh() }

func (v *Viewer) generate(w, h int) image.Image {
	if width := v.raster.Size().Width; width > 0 {
		v.scale = float64(w) / float64(width)
	}
	if v.Draw == nil || w == 0 || h == 0 {
		return image.NewRGBA(image.Rect(0, 0, w, h))
	}
	return v.Draw(w, h, v.scale)
}

func (v *Viewer) device(p fyne.Position) (x, y float64) {
	return float64(p.X) * v.scale, float64(p.Y) * v.scale
}

// MouseDown implements desktop.Mouseable. A click takes the focus.
func (v *Viewer) MouseDown(e *desktop.MouseEvent) {
	if c := fyne.CurrentApp().Driver().CanvasForObject(v); c != nil {
		c.Focus(v)
	}
	b := Primary
	switch e.Button {
	case desktop.MouseButtonSecondary:
		b = Secondary
	case desktop.MouseButtonTertiary:
		b = Middle
	}
	if v.x, v.y = v.device(e.Position); v.OnPress != nil {
		v.OnPress(v.x, v.y, b)
	}
}

// MouseUp implements desktop.Mouseable.
func (v *Viewer) MouseUp(e *desktop.MouseEvent) {
	v.x, v.y = v.device(e.Position)
	v.release()
}

// Dragged implements fyne.Draggable; it also follows the pointer outside.
func (v *Viewer) Dragged(e *fyne.DragEvent) { v.move(e.Position) }

// DragEnd implements fyne.Draggable. It follows MouseUp, or stands for it where
// the button was let go outside.
func (v *Viewer) DragEnd() { v.release() }

// MouseIn implements desktop.Hoverable.
func (v *Viewer) MouseIn(e *desktop.MouseEvent) { v.move(e.Position) }

// MouseMoved implements desktop.Hoverable.
func (v *Viewer) MouseMoved(e *desktop.MouseEvent) { v.move(e.Position) }

// MouseOut implements desktop.Hoverable.
func (v *Viewer) MouseOut() {
	if v.OnLeave != nil {
		v.OnLeave()
	}
}

func (v *Viewer) move(p fyne.Position) {
	if v.x, v.y = v.device(p); v.OnMove != nil {
		v.OnMove(v.x, v.y)
	}
}

func (v *Viewer) release() {
	if v.OnRelease != nil {
		v.OnRelease(v.x, v.y)
	}
}

// notch is what one step of a wheel scrolls.
const notch = 25

// Scrolled implements fyne.Scrollable.
func (v *Viewer) Scrolled(e *fyne.ScrollEvent) {
	steps := min(max(float64(e.Scrolled.DY)/notch, -4), 4)
	if x, y := v.device(e.Position); v.OnScroll != nil && steps != 0 {
		v.OnScroll(x, y, steps)
	}
}

// Cursor implements desktop.Cursorable.
func (v *Viewer) Cursor() desktop.Cursor {
	if v.Pointing != nil && v.Pointing() {
		return desktop.PointerCursor
	}
	return desktop.CrosshairCursor
}

// FocusGained implements fyne.Focusable.
func (v *Viewer) FocusGained() {
	v.ring.Show()
	v.ring.Refresh()
}

// FocusLost implements fyne.Focusable.
func (v *Viewer) FocusLost() {
	v.shift = false
	v.ring.Hide()
	v.ring.Refresh()
}

// KeyDown implements desktop.Keyable.
func (v *Viewer) KeyDown(e *fyne.KeyEvent) {
	v.shift = v.shift || isShift(e.Name)
	if v.OnDown != nil {
		v.OnDown(e.Name)
	}
}

// KeyUp implements desktop.Keyable.
func (v *Viewer) KeyUp(e *fyne.KeyEvent) {
	v.shift = v.shift && !isShift(e.Name)
	if v.OnUp != nil {
		v.OnUp(e.Name)
	}
}

func isShift(k fyne.KeyName) bool {
	return k == desktop.KeyShiftLeft || k == desktop.KeyShiftRight
}

// TypedKey implements fyne.Focusable; a held key repeats.
func (v *Viewer) TypedKey(e *fyne.KeyEvent) {
	if v.OnKey != nil {
		v.OnKey(e.Name, v.shift)
	}
}

// TypedRune implements fyne.Focusable.
func (v *Viewer) TypedRune(r rune) {
	if v.OnRune != nil {
		v.OnRune(r)
	}
}

type viewerRenderer struct {
	v       *Viewer
	objects []fyne.CanvasObject
}

func (r *viewerRenderer) Layout(size fyne.Size) {
	for _, o := range r.objects {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(size)
	}
}
func (r *viewerRenderer) MinSize() fyne.Size           { return fyne.NewSize(240, 180) }
func (r *viewerRenderer) Refresh()                     { canvas.Refresh(r.v.raster) }
func (r *viewerRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *viewerRenderer) Destroy()                     {}
