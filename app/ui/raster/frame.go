package raster

import (
	"image"
	"image/color"
)

// Scene is what a frame shows. Lengths are in picture pixels, places of outlines
// in film pixels.
type Scene struct {
	Width, Height int
	X, Y, Zoom    float64 // film point at the corner, picture pixels per film pixel
	Greys

	Under   *Under  // a second film; nil for none
	Local   Local   // where greys are spread by their neighbourhood; none where R is 0
	Loupe   *Loupe  // nil for none
	Scale   float64 // picture pixels per unit of the screen; line widths grow with it
	Rings   []Ring
	Wires   []Wire
	Lines   []Line
	Dots    []Dot
	Handles []Handle
	Arrows  []Arrow
	Labels  []Label
	Bar     Bar
	Marks   []Mark
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

// Line is a straight line between two film points.
type Line struct {
	AX, AY, BX, BY float64
	Color          color.RGBA
	Width          float64 // in units of the screen
	Dashed         bool
}

// Dot is one edge point.
type Dot struct {
	X, Y     float64
	Color    color.RGBA
	Rejected bool // drawn as a small cross
}

// Handle is a place by which something can be held; under the pointer it is grown.
type Handle struct {
	X, Y  float64
	Color color.RGBA
	Grown bool
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

// Mix says how a second film is shown with the first.
type Mix int

// The mixes.
const (
	Half   Mix = iota // both, half and half
	Before            // the second film left of a column, the first right of it
	Only              // the second film alone
)

// Under is a second film, seen from its own place.
type Under struct {
	Film       *image.Gray16
	X, Y, Zoom float64 // film point at the corner, picture pixels per film pixel
	Greys
	Mix    Mix
	Column float64 // picture column of Before
}

// Loupe is a round part of the picture in which the film is shown larger.
type Loupe struct {
	X, Y  float64    // its middle in the picture, picture pixels
	At    [2]float64 // the picture point that is shown in its middle
	R     float64    // its radius in units of the screen
	Times float64    // how much larger than the picture
}

// Frame makes pictures of one film after the other. Its zero value is ready; Text
// is needed for labels.
type Frame struct {
	Text *Type

	film, other plane
	base, under layer
	local       struct {
		spread
		layer
	}
	glass *Frame // the loupe's
}

// SetFilm shows img from now on; nil shows nothing. The pixels are copied.
func (f *Frame) SetFilm(img *image.Gray16) { f.film.load(img) }

// Draw returns the picture of s. It is valid until the next call.
func (f *Frame) Draw(s Scene) *image.RGBA {
	out := f.films(&f.film, &f.other, s)
	if f.film.of == nil || !(s.Zoom > 0) {
		return out
	}
	pen{out, f.Text, max(s.Scale, 1)}.overlay(s)
	if s.Loupe != nil {
		f.loupe(out, s)
	}
	return out
}

// films shows the films of s without what is drawn over them.
func (f *Frame) films(film, other *plane, s Scene) *image.RGBA {
	out := f.base.show(film, s.Width, s.Height, view{s.X, s.Y, s.Zoom}, s.Greys)
	if s.Local.R > 0 && f.local.set(film, s.Local) {
		f.spread(out, s)
	}
	if u := s.Under; u != nil && u.Film != nil && u.Zoom > 0 {
		other.load(u.Film)
		f.mix(out, f.under.show(other, s.Width, s.Height, view{u.X, u.Y, u.Zoom}, u.Greys), u)
	} else if other.of != nil { // it is not shown any more
		*other, f.under = plane{}, layer{}
	}
	return out
}

// spread shows the circle of local contrast.
func (f *Frame) spread(out *image.RGBA, s Scene) {
	l := s.Local
	v := view{s.X - float64(f.local.x), s.Y - float64(f.local.y), s.Zoom}
	seen := f.local.show(&f.local.plane, s.Width, s.Height, v, Greys{1 << 15, 1 << 16, s.Invert})
	copyDisc(out, seen, 0, 0, (l.X-s.X)*s.Zoom, (l.Y-s.Y)*s.Zoom, (l.R-1)*s.Zoom)
}

// mix puts the second film into the picture.
func (f *Frame) mix(out, second *image.RGBA, u *Under) {
	switch u.Mix {
	case Only:
		copy(out.Pix, second.Pix)
	case Before:
		n := 4 * min(max(int(u.Column), 0), out.Rect.Dx())
		for y := range out.Rect.Dy() {
			i := y * out.Stride
			copy(out.Pix[i:i+n], second.Pix[i:i+n])
		}
		if x := float64(n / 4); x > 0 && n/4 < out.Rect.Dx() { // where they meet
			line(out, x, 0, x, float64(out.Rect.Dy()), 1, color.RGBA{235, 238, 241, 150})
		}
	default:
		for i, v := range second.Pix {
			out.Pix[i] = byte((int(out.Pix[i]) + int(v)) / 2)
		}
	}
}

// loupe shows the film larger in a round part of out, with what is drawn over it.
func (f *Frame) loupe(out *image.RGBA, s Scene) {
	l, k := s.Loupe, max(s.Scale, 1)
	if !(l.R > 0) || !(l.Times > 0) {
		return
	}
	if f.glass == nil {
		f.glass = &Frame{Text: f.Text}
	}
	r := l.R * k
	n := int(2*r) + 1
	larger := func(x, y, zoom float64) (float64, float64, float64) {
		big := zoom * l.Times
		return x + l.At[0]/zoom - r/big, y + l.At[1]/zoom - r/big, big
	}
	in := s
	in.Width, in.Height, in.Loupe, in.Under = n, n, nil, nil
	in.X, in.Y, in.Zoom = larger(s.X, s.Y, s.Zoom)
	in.Arrows, in.Labels, in.Bar, in.Marks = nil, nil, Bar{}, nil
	if u := s.Under; u != nil {
		v := *u
		v.X, v.Y, v.Zoom = larger(u.X, u.Y, u.Zoom)
		v.Column = (u.Column-l.At[0])*l.Times + r
		in.Under = &v
	}
	seen := f.glass.films(&f.film, &f.other, in)
	pen{seen, nil, k}.overlay(in)
	copyDisc(out, seen, int(l.X-r), int(l.Y-r), r, r, r)
	ring(out, float64(int(l.X-r))+r, float64(int(l.Y-r))+r, r, 4*k, edgeColor)
	ring(out, float64(int(l.X-r))+r, float64(int(l.Y-r))+r, r, 1.5*k, white)
}
