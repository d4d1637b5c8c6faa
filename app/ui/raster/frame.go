package raster

import (
	"image"
	"image/color"
	"math"
)

// Scene is what a frame shows. Lengths are in picture pixels, places of outlines
// in film pixels.
type Scene struct {
	Width, Height int
	X, Y, Zoom    float64 // film point at the corner, picture pixels per film pixel
	Center        float64 // of the grey window
	Window        float64 // its width
	Invert        bool

	Under  *Under  // a second film; nil for none
	Scale  float64 // picture pixels per unit of the screen; line widths grow with it
	Rings  []Ring
	Wires  []Wire
	Dots   []Dot
	Arrows []Arrow
	Labels []Label
	Bar    Bar
	Marks  []Mark
}

// Ring is a circle's outline.
type Ring struct {
	X, Y, R float64
	Color   color.RGBA
	Width   float64 // line width in units of the screen
	Cross   float64 // half length of the centre's cross, in units; 0 for none
	Handle  bool    // show the centre's handle
	Ghost   bool    // drawn thin and without a dark edge
}

// Wire is an ellipse's outline in film pixels.
type Wire struct {
	Ellipse
	Color color.RGBA
	Width float64 // in units of the screen
}

// Dot is one edge point.
type Dot struct {
	X, Y     float64
	Color    color.RGBA
	Rejected bool // drawn as a small cross
}

// Arrow is a vector with a label at its head.
type Arrow struct {
	X, Y   float64 // start, film pixels
	DX, DY float64 // film pixels
	Color  color.RGBA
	Label  string
}

// Label is text beside a film point.
type Label struct {
	X, Y  float64
	Text  string
	Color color.RGBA
}

// Bar is a scale bar at the lower left: Length film pixels long; none where it is 0.
type Bar struct {
	Length float64
	Label  string
}

// Mark is text beside a corner of the picture.
type Mark struct {
	Left, Top bool
	Text      string
}

// Frame makes pictures of one film after the other. Its zero value is ready; Text
// is needed for labels.
type Frame struct {
	Text *Type

	film   plane
	loaded *image.Gray16

	grey   []uint16
	inside image.Rectangle
	seen   view
	out    *image.RGBA
	lut    table
	level  [3]float64
	other  second
}

// SetFilm shows img from now on; nil shows nothing. The pixels are copied.
func (f *Frame) SetFilm(img *image.Gray16) {
	if img == f.loaded {
		return
	}
	f.loaded, f.seen = img, view{}
	if img != nil {
		f.film.load(img)
	}
}

// Draw returns the picture of s. It is valid until the next call.
func (f *Frame) Draw(s Scene) *image.RGBA {
	if f.out == nil || f.out.Rect.Dx() != s.Width || f.out.Rect.Dy() != s.Height {
		f.out = image.NewRGBA(image.Rect(0, 0, s.Width, s.Height))
		f.grey, f.seen = make([]uint16, s.Width*s.Height), view{}
	}
	if f.loaded == nil || !(s.Zoom > 0) {
		fill(f.out.Pix)
		return f.out
	}
	if v := (view{s.X, s.Y, s.Zoom}); v != f.seen {
		f.inside = resample(f.grey, s.Width, s.Height, &f.film, v)
		f.seen = v
	}
	inv := 0.0
	if s.Invert {
		inv = 1
	}
	if l := [3]float64{s.Center, s.Window, inv}; l != f.level {
		f.lut.set(s.Center, s.Window, s.Invert)
		f.level = l
	}
	f.lut.apply(f.out, f.grey, f.inside)
	if s.Under != nil && s.Under.Film != nil && s.Under.Zoom > 0 {
		f.under(s.Under)
	} else {
		f.drop()
	}
	f.overlay(s)
	return f.out
}

var edgeColor = color.RGBA{0, 0, 0, 120}

func (f *Frame) overlay(s Scene) {
	k := max(s.Scale, 1)
	place := func(x, y float64) (vx, vy float64) { return (x - s.X) * s.Zoom, (y - s.Y) * s.Zoom }
	for _, r := range s.Rings {
		x, y := place(r.X, r.Y)
		if !r.Ghost {
			ring(f.out, x, y, r.R*s.Zoom, (r.Width+2)*k, edgeColor)
		}
		ring(f.out, x, y, r.R*s.Zoom, r.Width*k, r.Color)
	}
	for _, w := range s.Wires {
		e := w.Ellipse
		e.X, e.Y = place(e.X, e.Y)
		e.A, e.B = e.A*s.Zoom, e.B*s.Zoom
		ellipse(f.out, e, (w.Width+2)*k, edgeColor)
		ellipse(f.out, e, w.Width*k, w.Color)
	}
	for _, d := range s.Dots {
		x, y := place(d.X, d.Y)
		f.dot(x, y, k, d)
	}
	for _, r := range s.Rings {
		x, y := place(r.X, r.Y)
		f.centre(x, y, k, r)
	}
	for _, a := range s.Arrows {
		x, y := place(a.X, a.Y)
		f.arrow(x, y, a.DX*s.Zoom, a.DY*s.Zoom, k, a)
	}
	for _, l := range s.Labels {
		x, y := place(l.X, l.Y)
		f.label(x, y, k, l)
	}
	f.furniture(s, k)
}

// label writes beside a point, on the side where there is room.
func (f *Frame) label(x, y, k float64, l Label) {
	if f.Text == nil || l.Text == "" {
		return
	}
	px := 12.5 * k
	w := f.Text.width(l.Text, px)
	x += 14 * k
	if x+w > float64(f.out.Rect.Dx())-6*k {
		x -= w + 28*k
	}
	x = max(x, 6*k)
	f.plate(x, y+4*k, px, k, l.Text)
	f.Text.write(f.out, x, y+4*k, px, l.Text, l.Color)
}

func (f *Frame) dot(x, y, k float64, d Dot) {
	if !d.Rejected {
		disc(f.out, x, y, 1.4*k, d.Color)
		return
	}
	r := 2.2 * k
	line(f.out, x-r, y-r, x+r, y+r, k, d.Color)
	line(f.out, x-r, y+r, x+r, y-r, k, d.Color)
}

func (f *Frame) centre(x, y, k float64, r Ring) {
	if n := r.Cross * k; n > 0 {
		line(f.out, x-n, y, x+n, y, 3*k, edgeColor)
		line(f.out, x, y-n, x, y+n, 3*k, edgeColor)
		line(f.out, x-n, y, x+n, y, k, r.Color)
		line(f.out, x, y-n, x, y+n, k, r.Color)
	}
	if r.Handle {
		ring(f.out, x, y, 9*k, 2*k, r.Color)
	}
}

func (f *Frame) arrow(x, y, dx, dy, k float64, a Arrow) {
	n := math.Hypot(dx, dy)
	if n < 2*k {
		return
	}
	ux, uy := dx/n, dy/n
	tip := min(9*k, n)
	stroke := func(width float64, c color.RGBA) {
		line(f.out, x, y, x+dx, y+dy, width, c)
		for _, s := range []float64{-1, 1} {
			line(f.out, x+dx, y+dy, x+dx-tip*(ux-s*uy*0.5), y+dy-tip*(uy+s*ux*0.5), width, c)
		}
	}
	stroke(4*k, edgeColor)
	stroke(2*k, a.Color)
	if f.Text != nil && a.Label != "" {
		f.plate(x+dx+10*k, y+dy-4*k, 12.5*k, k, a.Label)
		f.Text.write(f.out, x+dx+10*k, y+dy-4*k, 12.5*k, a.Label, a.Color)
	}
}

// plate darkens what lies behind a label with its baseline's start at (x, y).
func (f *Frame) plate(x, y, px, k float64, label string) {
	x0, x1 := clip(x-5*k, x+f.Text.width(label, px)+5*k, f.out.Rect.Dx())
	y0, y1 := clip(y-px-2*k, y+px*0.35+2*k, f.out.Rect.Dy())
	for j := y0; j < y1; j++ {
		for i := x0; i < x1; i++ {
			blend(f.out, i, j, color.RGBA{17, 21, 25, 190}, 1)
		}
	}
}

// furniture draws the scale bar and the corner marks.
func (f *Frame) furniture(s Scene, k float64) {
	white := color.RGBA{235, 238, 241, 255}
	const margin = 14
	if s.Bar.Length > 0 && f.Text != nil {
		x, y, n := margin*k, float64(s.Height)-margin*k, s.Bar.Length*s.Zoom
		bar := func(width float64, c color.RGBA) {
			line(f.out, x, y, x+n, y, width, c)
			line(f.out, x, y-4*k, x, y+4*k, width, c)
			line(f.out, x+n, y-4*k, x+n, y+4*k, width, c)
		}
		bar(4*k, edgeColor)
		bar(1.5*k, white)
		f.plate(x+5*k, y-13*k, 12*k, k, s.Bar.Label)
		f.Text.write(f.out, x+5*k, y-13*k, 12*k, s.Bar.Label, white)
	}
	for _, m := range s.Marks {
		if f.Text == nil {
			break
		}
		x, y := margin*k, margin*k+12*k
		if !m.Left {
			x = float64(s.Width) - margin*k - f.Text.width(m.Text, 13*k)
		}
		if !m.Top {
			y = float64(s.Height) - margin*k
		}
		f.plate(x, y, 13*k, k, m.Text)
		f.Text.write(f.out, x, y, 13*k, m.Text, white)
	}
}
