package raster

import (
	"image"
	"image/color"
)

// Greys is the window of grey values shown.
type Greys struct {
	Center, Window float64
	Invert         bool
}

// layer is one film on its way to the picture: seen through a view, then through
// a window of greys. It keeps both steps, so that only what changed is made again.
type layer struct {
	grey   []uint16
	inside image.Rectangle
	seen   view
	of     *plane
	turn   int // of the plane
	lut    table
	level  Greys
	out    *image.RGBA
}

// show returns p seen through v in the greys g, w by h pixels. The picture is valid
// until the next call.
func (l *layer) show(p *plane, w, h int, v view, g Greys) *image.RGBA {
	if l.out == nil || l.out.Rect.Dx() != w || l.out.Rect.Dy() != h {
		l.out = image.NewRGBA(image.Rect(0, 0, w, h))
		l.grey, l.of = make([]uint16, w*h), nil
	}
	if p.of == nil || !(v.zoom > 0) {
		fill(l.out.Pix)
		return l.out
	}
	if v != l.seen || l.of != p || l.turn != p.turn {
		l.inside = resample(l.grey, w, h, p, v)
		l.seen, l.of, l.turn = v, p, p.turn
	}
	if g != l.level {
		l.lut.set(g.Center, g.Window, g.Invert)
		l.level = g
	}
	l.lut.apply(l.out, l.grey, l.inside)
	return l.out
}

// copyDisc copies what of src lies in a circle to dst, at (ox, oy) of dst.
func copyDisc(dst, src *image.RGBA, ox, oy int, cx, cy, r float64) {
	y0, y1 := clip(cy-r, cy+r, src.Rect.Dy())
	for y := max(y0, -oy); y < y1 && y+oy < dst.Rect.Dy(); y++ {
		half := r*r - (float64(y)+0.5-cy)*(float64(y)+0.5-cy)
		if half <= 0 {
			continue
		}
		x0, x1 := chord(cx, half, src.Rect.Dx())
		x0, x1 = max(x0, -ox), min(x1, dst.Rect.Dx()-ox)
		if x0 < x1 {
			copy(dst.Pix[(y+oy)*dst.Stride+4*(x0+ox):][:4*(x1-x0)], src.Pix[y*src.Stride+4*x0:][:4*(x1-x0)])
		}
	}
}

// Plate darkens the film behind words, by its alpha, so far that they can be read over metal.
var Plate = color.RGBA{17, 21, 25, 214}
