package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"linerwatch/app/ui/widgets"
)

// tip is a note that stands beside what the pointer is on. It takes no clicks.
type tip struct {
	object *fyne.Container // lies over what it explains
	back   *canvas.Rectangle
	lines  []*canvas.Text
	text   string
}

const (
	tipSize  = 12
	tipWidth = 300
	tipPad   = 8
	tipFrom  = 14 // away from the pointer
)

func newTip() *tip {
	t := &tip{back: canvas.NewRectangle(widgets.Raised), object: container.NewWithoutLayout()}
	t.back.StrokeColor, t.back.StrokeWidth, t.back.CornerRadius = widgets.Border, 1, 4
	return t
}

// hide takes the note away.
func (t *tip) hide() {
	if t.text != "" {
		t.text, t.object.Objects = "", nil
		t.object.Refresh()
	}
}

// show puts the note beside (x, y), within the object that it lies over.
func (t *tip) show(text string, x, y float32) {
	if text != t.text {
		t.text, t.lines = text, nil
		t.object.Objects = []fyne.CanvasObject{t.back}
		for _, s := range wrap(text, tipWidth, tipSize) {
			l := canvas.NewText(s, widgets.Text)
			l.TextSize = tipSize
			t.lines = append(t.lines, l)
			t.object.Objects = append(t.object.Objects, l)
		}
	}
	var w, step float32
	for _, l := range t.lines {
		w, step = max(w, l.MinSize().Width), l.MinSize().Height
	}
	size := fyne.NewSize(w+2*tipPad, step*float32(len(t.lines))+2*tipPad)
	area := t.object.Size()
	if x += tipFrom; x+size.Width > area.Width {
		x = max(0, x-2*tipFrom-size.Width)
	}
	y = min(y+tipFrom, max(0, area.Height-size.Height))
	t.back.Move(fyne.NewPos(x, y))
	t.back.Resize(size)
	for i, l := range t.lines {
		l.Move(fyne.NewPos(x+tipPad, y+tipPad+step*float32(i)))
		l.Resize(l.MinSize())
	}
	t.object.Refresh()
}

// wrap breaks text into lines of at most the given width.
func wrap(text string, width, size float32) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(text) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && fyne.MeasureText(longer, size, fyne.TextStyle{}).Width > width {
			out = append(out, line)
			longer = word
		}
		line = longer
	}
	return append(out, line)
}
