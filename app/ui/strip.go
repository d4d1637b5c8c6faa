package ui

import (
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"

	"linerwatch/app/session"
	"linerwatch/app/ui/widgets"
)

// strip lists the films in date order.
type strip struct {
	object fyne.CanvasObject
	s      *session.Session
	box    *fyne.Container
	scroll *container.Scroll
	cards  []*widgets.Card
	small  map[*image.Gray16]image.Image // pictures by preview
}

func newStrip(s *session.Session) *strip {
	t := &strip{s: s, box: container.New(layout.NewCustomPaddedVBoxLayout(3)), small: map[*image.Gray16]image.Image{}}
	t.scroll = container.NewVScroll(t.box)
	back := canvas.NewRectangle(widgets.Ground)
	back.SetMinSize(fyne.NewSize(196, 0))
	t.object = container.NewStack(back, container.New(layout.NewCustomPaddedLayout(6, 6, 6, 4), t.scroll))
	return t
}

func (t *strip) show() {
	films := t.s.Strip().Films()
	for len(t.cards) < len(films) {
		i := len(t.cards)
		c := widgets.NewCard(func() { t.s.Strip().Select(i) })
		t.cards = append(t.cards, c)
	}
	if len(t.box.Objects) != len(films) {
		t.box.Objects = nil
		for _, c := range t.cards[:len(films)] {
			t.box.Add(c)
		}
		t.box.Refresh()
	}
	for i, f := range films {
		t.cards[i].SetPicture(t.picture(f))
		t.cards[i].Set(cardContent(t.s, f, i))
	}
	if i := t.s.Strip().SelectedIndex(); i >= 0 {
		t.reveal(t.cards[i])
	}
}

// reveal scrolls until c is seen.
func (t *strip) reveal(c *widgets.Card) {
	top, h := c.Position().Y, c.Size().Height
	off, view := t.scroll.Offset.Y, t.scroll.Size().Height
	switch {
	case view == 0 || h == 0:
		return
	case top < off:
		t.scroll.ScrollToOffset(fyne.NewPos(0, top))
	case top+h > off+view:
		t.scroll.ScrollToOffset(fyne.NewPos(0, top+h-view))
	}
}

func cardContent(s *session.Session, f *session.Film, i int) widgets.CardContent {
	line := yearsText(s, f)
	if line == "" {
		line = shorten(f.Name(), 13)
	}
	title := f.DateText()
	if lost := f.Unreadable() && f.Accepted == nil; lost || f.State() < session.Loaded && !f.Dated() {
		line = shorten(f.Name(), 13)
		if !f.Dated() {
			title = say("strip.film", "N", i+1)
		}
	}
	state := stateText(f)
	if f.Accepted != nil && f.Unreadable() { // there is no room for both in a line
		state, line = say("strip.accepted", "Reader", f.Accepted.Reader), say("strip.file-missing")
	}
	return widgets.CardContent{
		Title: title, Line: line, State: state, StateColor: stateColor(f.State()),
		Selected: f == s.Strip().Selected(), Waiting: f.State() < session.Proposed,
	}
}

// shorten keeps the end of a long name, where names of films differ.
func shorten(name string, n int) string {
	r := []rune(name)
	if len(r) <= n {
		return name
	}
	return "…" + string(r[len(r)-n+1:])
}

// picture returns the small picture of f in its first grey window.
func (t *strip) picture(f *session.Film) image.Image {
	if f.Preview == nil {
		return nil
	}
	if img, ok := t.small[f.Preview]; ok {
		return img
	}
	l := session.AutoLevel(f.Preview)
	b := f.Preview.Bounds()
	img := image.NewGray(b)
	for y := range b.Dy() {
		for x := range b.Dx() {
			v := (float64(f.Preview.Gray16At(x, y).Y) - l.Center + l.Width/2) / l.Width * 255
			img.SetGray(x, y, color.Gray{Y: uint8(min(max(v, 0), 255))})
		}
	}
	t.small[f.Preview] = img
	return img
}
