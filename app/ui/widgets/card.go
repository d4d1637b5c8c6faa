package widgets

import (
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"
)

// CardContent is what a card shows.
type CardContent struct {
	Title, Line, State string
	StateColor         color.RGBA
	Selected           bool
	Waiting            bool // nothing can be said of the film yet
}

// Card is one film in the strip: a small picture with three lines of text. It is
// reached by Tab and chosen by a tap, Space or Enter.
type Card struct {
	widget.BaseWidget
	OnTapped func()

	content CardContent
	picture *canvas.Image
	back    *canvas.Rectangle
	mark    *canvas.Rectangle
	frame   *canvas.Rectangle // where the picture will be
	dot     *canvas.Circle
	texts   [3]*canvas.Text
	focused bool
}

// The card's measures.
const (
	cardHeight  = 72
	cardPicture = 60
	cardText    = 76
)

// NewCard returns an empty card.
func NewCard(onTapped func()) *Card {
	c := &Card{OnTapped: onTapped}
	c.picture = canvas.NewImageFromImage(image.NewGray(image.Rect(0, 0, 1, 1)))
	c.picture.FillMode = canvas.ImageFillContain
	c.back, c.mark = canvas.NewRectangle(Surface), canvas.NewRectangle(Accent)
	c.back.CornerRadius = 4
	c.dot, c.frame = canvas.NewCircle(Muted), canvas.NewRectangle(Ground)
	c.frame.StrokeColor, c.frame.StrokeWidth, c.frame.CornerRadius = Hair, 1, 2
	for i := range c.texts {
		c.texts[i] = canvas.NewText("", Text)
		c.texts[i].TextSize = 12.5
	}
	c.texts[0].TextStyle.Bold = true
	c.ExtendBaseWidget(c)
	return c
}

// SetPicture shows img; nil shows a frame for one.
func (c *Card) SetPicture(img image.Image) {
	if img == nil {
		c.picture.Hide()
		c.frame.Show()
		return
	}
	c.picture.Show()
	c.frame.Hide()
	if c.picture.Image != img {
		c.picture.Image = img
		c.picture.Refresh()
	}
}

// Set shows content.
func (c *Card) Set(content CardContent) {
	if content == c.content {
		return
	}
	c.content = content
	c.Refresh()
}

// Content returns what is shown.
func (c *Card) Content() CardContent { return c.content }

// Tapped implements fyne.Tappable.
func (c *Card) Tapped(*fyne.PointEvent) {
	if c.OnTapped != nil {
		c.OnTapped()
	}
}

// FocusGained implements fyne.Focusable.
func (c *Card) FocusGained() { c.focused = true; c.Refresh() }

// FocusLost implements fyne.Focusable.
func (c *Card) FocusLost() { c.focused = false; c.Refresh() }

// TypedRune implements fyne.Focusable.
func (c *Card) TypedRune(rune) {}

// TypedKey implements fyne.Focusable.
func (c *Card) TypedKey(e *fyne.KeyEvent) {
	if e.Name == fyne.KeySpace || e.Name == fyne.KeyReturn || e.Name == fyne.KeyEnter {
		c.Tapped(nil)
	}
}

// CreateRenderer implements fyne.Widget.
func (c *Card) CreateRenderer() fyne.WidgetRenderer {
	r := &cardRenderer{c: c, objects: []fyne.CanvasObject{c.back, c.mark, c.frame, c.picture, c.dot}}
	for _, t := range c.texts {
		r.objects = append(r.objects, t)
	}
	r.show()
	return r
}

type cardRenderer struct {
	c       *Card
	objects []fyne.CanvasObject
}

func (r *cardRenderer) Layout(size fyne.Size) {
	c := r.c
	c.back.Resize(size)
	c.mark.Resize(fyne.NewSize(3, size.Height))
	c.frame.Move(fyne.NewPos(15, 6))
	c.frame.Resize(fyne.NewSize(cardPicture-12, cardHeight-12))
	c.picture.Move(fyne.NewPos(9, 6))
	c.picture.Resize(fyne.NewSize(cardPicture, cardHeight-12))
	for i, t := range c.texts {
		x, y := float32(cardText), float32(8+i*19)
		if i == 2 {
			x += 13
		}
		t.Move(fyne.NewPos(x, y))
		t.Resize(fyne.NewSize(size.Width-x, 18))
	}
	r.words(size.Width)
	c.dot.Move(fyne.NewPos(cardText+1, 8+2*19+5))
	c.dot.Resize(fyne.NewSize(8, 8))
}

func (r *cardRenderer) MinSize() fyne.Size { return fyne.NewSize(176, cardHeight) }

func (r *cardRenderer) Refresh() {
	r.show()
	for _, o := range r.objects {
		o.Refresh()
	}
}

func (r *cardRenderer) show() {
	c := r.c
	r.words(c.Size().Width)
	c.texts[1].Color = Muted
	c.texts[2].Color = c.content.StateColor
	c.dot.FillColor, c.dot.StrokeWidth = c.content.StateColor, 0
	if c.content.Waiting { // a ring, and a frame where the picture will be
		c.dot.FillColor, c.dot.StrokeColor, c.dot.StrokeWidth = color.Transparent, c.content.StateColor, 1.5
	}
	c.back.FillColor, c.back.StrokeWidth = Surface, 0
	if c.content.Selected {
		c.back.FillColor = Raised
		c.mark.Show()
	} else {
		c.mark.Hide()
	}
	if c.focused {
		c.back.StrokeColor, c.back.StrokeWidth = Focus, 2
	}
}

// words shows as much of the texts as a card of the given width has room for.
func (r *cardRenderer) words(width float32) {
	const edge = 4
	for i, s := range []string{r.c.content.Title, r.c.content.Line, r.c.content.State} {
		t := r.c.texts[i]
		t.Text = shorten(s, width-t.Position().X-edge, t.TextSize, 0)
	}
}

func (r *cardRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *cardRenderer) Destroy()                     {}
