package widgets

import (
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"
)

// Picture shows an image whole, with parts of it marked. A click and a drag are told in
// pixels of the image.
type Picture struct {
	widget.BaseWidget
	OnTap  func(at image.Point)
	OnDrag func(part image.Rectangle)

	picture  *canvas.Image
	parts    []Part
	marks    []*canvas.Rectangle
	drawn    *canvas.Rectangle // by the drag that goes on
	from, to fyne.Position
	dragged  bool
}

// Part is a part of a picture: black, or with a frame alone.
type Part struct {
	Box   image.Rectangle
	Black bool
}

// NewPicture returns an empty picture.
func NewPicture() *Picture {
	p := &Picture{picture: canvas.NewImageFromImage(nil), drawn: canvas.NewRectangle(color.Transparent)}
	p.picture.FillMode = canvas.ImageFillContain
	p.drawn.StrokeColor, p.drawn.StrokeWidth = Accent, 2
	p.drawn.Hide()
	p.ExtendBaseWidget(p)
	return p
}

// Set shows an image, nil for none, and its parts.
func (p *Picture) Set(img image.Image, parts []Part) {
	if p.picture.Image != img {
		p.picture.Image = img
		p.picture.Refresh()
	}
	p.parts, p.marks = parts, nil
	for _, part := range parts {
		r := canvas.NewRectangle(color.Transparent)
		if part.Black {
			r.FillColor = color.Black
		}
		r.StrokeColor, r.StrokeWidth = Accent, 1.5
		p.marks = append(p.marks, r)
	}
	p.Refresh()
}

// at returns the scale of the picture and where its upper left corner is.
func (p *Picture) at() (scale float32, corner fyne.Position) {
	if p.picture.Image == nil {
		return 0, corner
	}
	b, size := p.picture.Image.Bounds(), p.Size()
	w, h := float32(b.Dx()), float32(b.Dy())
	scale = min(size.Width/w, size.Height/h)
	return scale, fyne.NewPos((size.Width-scale*w)/2, (size.Height-scale*h)/2)
}

// pixel returns the pixel of the image at a place of the widget.
func (p *Picture) pixel(at fyne.Position) image.Point {
	scale, corner := p.at()
	return image.Pt(int((at.X-corner.X)/scale), int((at.Y-corner.Y)/scale))
}

// Tapped implements fyne.Tappable.
func (p *Picture) Tapped(e *fyne.PointEvent) {
	if p.picture.Image != nil && p.OnTap != nil {
		p.OnTap(p.pixel(e.Position))
	}
}

// Dragged implements fyne.Draggable.
func (p *Picture) Dragged(e *fyne.DragEvent) {
	if !p.dragged {
		p.dragged, p.from = true, e.Position.SubtractXY(e.Dragged.DX, e.Dragged.DY)
	}
	p.to = e.Position
	low := fyne.NewPos(min(p.from.X, p.to.X), min(p.from.Y, p.to.Y))
	p.drawn.Move(low)
	p.drawn.Resize(fyne.NewSize(max(p.from.X, p.to.X)-low.X, max(p.from.Y, p.to.Y)-low.Y))
	p.drawn.Show()
	p.drawn.Refresh()
}

// DragEnd implements fyne.Draggable.
func (p *Picture) DragEnd() {
	if p.dragged && p.picture.Image != nil && p.OnDrag != nil {
		a, b := p.pixel(p.from), p.pixel(p.to)
		p.OnDrag(image.Rect(a.X, a.Y, b.X, b.Y))
	}
	p.dragged = false
	p.drawn.Hide()
}

// CreateRenderer implements fyne.Widget.
func (p *Picture) CreateRenderer() fyne.WidgetRenderer { return &pictureRenderer{p} }

type pictureRenderer struct{ p *Picture }

// Layout implements fyne.WidgetRenderer.
func (r *pictureRenderer) Layout(size fyne.Size) {
	r.p.picture.Resize(size)
	scale, corner := r.p.at()
	for i, m := range r.p.marks {
		b := r.p.parts[i].Box
		m.Move(corner.AddXY(scale*float32(b.Min.X), scale*float32(b.Min.Y)))
		m.Resize(fyne.NewSize(scale*float32(b.Dx()), scale*float32(b.Dy())))
	}
}

// MinSize implements fyne.WidgetRenderer.
func (r *pictureRenderer) MinSize() fyne.Size { return fyne.NewSize(200, 200) }

// Refresh implements fyne.WidgetRenderer.
func (r *pictureRenderer) Refresh() {
	r.Layout(r.p.Size())
	canvas.Refresh(r.p)
}

// Objects implements fyne.WidgetRenderer.
func (r *pictureRenderer) Objects() []fyne.CanvasObject {
	out := []fyne.CanvasObject{r.p.picture}
	for _, m := range r.p.marks {
		out = append(out, m)
	}
	return append(out, r.p.drawn)
}

// Destroy implements fyne.WidgetRenderer.
func (r *pictureRenderer) Destroy() {}
