package raster

import "image"

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
	Film           *image.Gray16
	X, Y, Zoom     float64 // film point at the corner, picture pixels per film pixel
	Center, Window float64
	Invert         bool
	Mix            Mix
	Column         float64 // picture column of Before
}

// second is what a frame keeps of the second film.
type second struct {
	film   plane
	loaded *image.Gray16
	grey   []uint16
	inside image.Rectangle
	seen   view
	out    *image.RGBA
	lut    table
	level  [3]float64
}

// under draws the second film into the picture.
func (f *Frame) under(u *Under) {
	b := &f.other
	if u.Film != b.loaded {
		b.loaded, b.seen = u.Film, view{}
		b.film.load(u.Film)
	}
	w, h := f.out.Rect.Dx(), f.out.Rect.Dy()
	if b.out == nil || b.out.Rect != f.out.Rect {
		b.out, b.grey, b.seen = image.NewRGBA(f.out.Rect), make([]uint16, w*h), view{}
	}
	if v := (view{u.X, u.Y, u.Zoom}); v != b.seen {
		b.inside = resample(b.grey, w, h, &b.film, v)
		b.seen = v
	}
	inv := 0.0
	if u.Invert {
		inv = 1
	}
	if l := [3]float64{u.Center, u.Window, inv}; l != b.level {
		b.lut.set(u.Center, u.Window, u.Invert)
		b.level = l
	}
	b.lut.apply(b.out, b.grey, b.inside)
	switch u.Mix {
	case Only:
		copy(f.out.Pix, b.out.Pix)
	case Before:
		n := 4 * min(max(int(u.Column), 0), w)
		for y := range h {
			i := y * f.out.Stride
			copy(f.out.Pix[i:i+n], b.out.Pix[i:i+n])
		}
	default:
		for i, v := range b.out.Pix {
			f.out.Pix[i] = byte((int(f.out.Pix[i]) + int(v)) / 2)
		}
	}
}

// drop lets go of a second film that is not shown any more.
func (f *Frame) drop() {
	if f.other.loaded != nil {
		f.other = second{}
	}
}
