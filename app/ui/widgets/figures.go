package widgets

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"
)

// Figure is one line of a Figures list: a heading where Head is set, otherwise a
// name with a value, its standard error and its unit.
type Figure struct {
	Name, Value string
	SE          string // standard error, shown after ±
	Extra       string // shown where a standard error would be
	Unit        string
	Head        bool
	Color       color.Color // of the value; nil for plain text
}

// Figures lists numbers with their standard errors in aligned columns.
type Figures struct {
	widget.BaseWidget
	rows  []Figure
	texts [][4]*canvas.Text
	lines []*canvas.Rectangle
}

const (
	figureHeight = 20
	headHeight   = 30
)

// FigureSize is the size of the text.
const FigureSize = 12.5

// NewFigures returns an empty list.
func NewFigures() *Figures {
	f := &Figures{}
	f.ExtendBaseWidget(f)
	return f
}

// Set shows rows.
func (f *Figures) Set(rows []Figure) {
	f.rows = rows
	for len(f.texts) < len(rows) {
		var t [4]*canvas.Text
		for i := range t {
			t[i] = canvas.NewText("", Text)
			t[i].TextSize = FigureSize
		}
		t[1].Alignment, t[2].Alignment = fyne.TextAlignTrailing, fyne.TextAlignTrailing
		f.texts = append(f.texts, t)
		f.lines = append(f.lines, canvas.NewRectangle(Hair))
	}
	f.fill()
	f.Refresh()
}

// Rows returns what is shown.
func (f *Figures) Rows() []Figure { return f.rows }

func (f *Figures) fill() {
	for i, r := range f.rows {
		t := f.texts[i]
		t[0].Text, t[1].Text, t[2].Text, t[3].Text = r.Name, r.Value, r.Extra, r.Unit
		if r.SE != "" {
			t[2].Text = "± " + r.SE
		}
		t[0].Color, t[1].Color, t[2].Color, t[3].Color = Muted, Text, Muted, Muted
		t[0].TextStyle.Bold = r.Head
		if r.Head {
			t[0].Color, t[1].Color = Text, Muted
		}
		if r.Color != nil {
			t[1].Color = r.Color
		}
	}
}

// CreateRenderer implements fyne.Widget.
func (f *Figures) CreateRenderer() fyne.WidgetRenderer { return &figuresRenderer{f: f} }

type figuresRenderer struct{ f *Figures }

func (r *figuresRenderer) Layout(size fyne.Size) {
	y := float32(0)
	unit, se := float32(52), r.f.errorWidth()
	for i, row := range r.f.rows {
		t := r.f.texts[i]
		t[0].Resize(fyne.NewSize(size.Width, figureHeight)) // as high as the numbers: on one line with them
		t[3].Resize(fyne.NewSize(unit, figureHeight))
		if row.Head {
			r.f.lines[i].Move(fyne.NewPos(0, y+6))
			r.f.lines[i].Resize(fyne.NewSize(size.Width, 1))
			t[0].Move(fyne.NewPos(0, y+11))
			t[2].Move(fyne.NewPos(size.Width-unit-se, y+11))
			t[2].Resize(fyne.NewSize(se-4, figureHeight))
			t[1].Move(fyne.NewPos(size.Width-unit-se-90, y+11))
			t[1].Resize(fyne.NewSize(90, figureHeight))
			y += headHeight
			continue
		}
		t[0].Move(fyne.NewPos(0, y))
		end := size.Width - unit
		t[2].Move(fyne.NewPos(end-se, y))
		t[2].Resize(fyne.NewSize(se-4, figureHeight))
		t[1].Move(fyne.NewPos(end-se-90, y))
		t[1].Resize(fyne.NewSize(90, figureHeight))
		t[3].Move(fyne.NewPos(end+2, y))
		y += figureHeight
	}
}

// errorWidth is the room between values and units: that of standard errors and of what stands
// in their place, if any.
func (f *Figures) errorWidth() float32 {
	wide := float32(4)
	for i, r := range f.rows {
		if t := f.texts[i][2]; r.SE != "" || r.Extra != "" {
			wide = max(wide, 68, fyne.MeasureText(t.Text, t.TextSize, t.TextStyle).Width+12)
		}
	}
	return wide
}

func (r *figuresRenderer) MinSize() fyne.Size {
	h := float32(0)
	for _, row := range r.f.rows {
		if row.Head {
			h += headHeight
		} else {
			h += figureHeight
		}
	}
	return fyne.NewSize(250, h)
}

func (r *figuresRenderer) Refresh() {
	r.Layout(r.f.Size())
	for _, o := range r.Objects() {
		o.Refresh()
	}
}

func (r *figuresRenderer) Objects() []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for i, row := range r.f.rows {
		if row.Head {
			out = append(out, r.f.lines[i])
		}
		for _, t := range r.f.texts[i] {
			out = append(out, t)
		}
	}
	return out
}

func (r *figuresRenderer) Destroy() {}
