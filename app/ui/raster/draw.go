package raster

import (
	"image"
	"image/color"
	"math"
)

// blend puts c over the pixel at (x, y) with coverage 0 to 1. The pixel must lie
// inside img.
func blend(img *image.RGBA, x, y int, c color.RGBA, coverage float64) {
	k := uint32(coverage*float64(c.A) + 0.5)
	if k == 0 {
		return
	}
	p := img.Pix[y*img.Stride+4*x:][:3:3]
	p[0] = mix(p[0], c.R, k)
	p[1] = mix(p[1], c.G, k)
	p[2] = mix(p[2], c.B, k)
}

func mix(under, over byte, k uint32) byte {
	return byte((uint32(under)*(255-k) + uint32(over)*k + 127) / 255)
}

// ring draws a circle's outline of the given line width, anti-aliased: each pixel
// takes the colour by its centre's distance to the line.
func ring(img *image.RGBA, cx, cy, r, width float64, c color.RGBA) {
	half := width/2 + 0.5
	outer, inner := r+half, max(r-half, 0)
	y0, y1 := clip(cy-outer, cy+outer, img.Rect.Dy())
	for y := y0; y < y1; y++ {
		dy := float64(y) + 0.5 - cy
		if math.Abs(dy) > outer {
			continue
		}
		far := math.Sqrt(outer*outer - dy*dy)
		near := 0.0
		if math.Abs(dy) < inner {
			near = math.Sqrt(inner*inner - dy*dy)
		}
		if near < 2 { // the two halves would share pixels
			arc(img, y, cx-far, cx+far, cx, dy, r, half, c)
			continue
		}
		arc(img, y, cx-far, cx-near, cx, dy, r, half, c)
		arc(img, y, cx+near, cx+far, cx, dy, r, half, c)
	}
}

func arc(img *image.RGBA, y int, from, to, cx, dy, r, half float64, c color.RGBA) {
	x0, x1 := clip(from, to, img.Rect.Dx())
	for x := x0; x < x1; x++ {
		d := math.Abs(math.Hypot(float64(x)+0.5-cx, dy) - r)
		if d < half {
			blend(img, x, y, c, min(half-d, 1))
		}
	}
}

// Ellipse is an ellipse's outline: half axes A and B, the long one at Angle
// degrees from +x towards +y.
type Ellipse struct{ X, Y, A, B, Angle float64 }

// ellipse draws an outline as ring does. The distance of a point to it is taken
// to first order, which is exact enough within a line's width.
func ellipse(img *image.RGBA, e Ellipse, width float64, c color.RGBA) {
	half := width/2 + 0.5
	if !(e.A > half) || !(e.B > half) {
		return
	}
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	inner, outer := 1-half/e.B, 1+half/e.B
	wide, high := math.Hypot(e.A*cos, e.B*sin)*outer, math.Hypot(e.A*sin, e.B*cos)*outer
	y0, y1 := clip(e.Y-high, e.Y+high, img.Rect.Dy())
	x0, x1 := clip(e.X-wide, e.X+wide, img.Rect.Dx())
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			dx, dy := float64(x)+0.5-e.X, float64(y)+0.5-e.Y
			u, v := (dx*cos+dy*sin)/e.A, (dy*cos-dx*sin)/e.B
			q := u*u + v*v
			if q < inner*inner || q > outer*outer {
				continue
			}
			root := math.Sqrt(q)
			if d := math.Abs(root-1) * root / math.Hypot(u/e.A, v/e.B); d < half {
				blend(img, x, y, c, min(half-d, 1))
			}
		}
	}
}

// clip returns the pixels that the interval touches, within 0 to n.
func clip(lo, hi float64, n int) (from, to int) {
	lo, hi = math.Floor(max(lo, 0)), math.Ceil(min(hi, float64(n-1)))
	if lo > hi {
		return 0, 0
	}
	return int(lo), min(int(hi)+1, n)
}

// chord returns the pixels 0 to n of a row whose centres lie within the root of
// half of cx.
func chord(cx, half float64, n int) (from, to int) {
	r := math.Sqrt(half)
	return min(max(int(math.Ceil(cx-r-0.5)), 0), n), max(min(int(math.Floor(cx+r-0.5))+1, n), 0)
}

// disc fills a circle, anti-aliased.
func disc(img *image.RGBA, cx, cy, r float64, c color.RGBA) {
	y0, y1 := clip(cy-r-1, cy+r+1, img.Rect.Dy())
	x0, x1 := clip(cx-r-1, cx+r+1, img.Rect.Dx())
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			if k := r + 0.5 - math.Hypot(float64(x)+0.5-cx, float64(y)+0.5-cy); k > 0 {
				blend(img, x, y, c, min(k, 1))
			}
		}
	}
}

// line draws a straight line of the given width with round ends.
func line(img *image.RGBA, ax, ay, bx, by, width float64, c color.RGBA) {
	half := width/2 + 0.5
	dx, dy := bx-ax, by-ay
	n := dx*dx + dy*dy
	y0, y1 := clip(min(ay, by)-half, max(ay, by)+half, img.Rect.Dy())
	x0, x1 := clip(min(ax, bx)-half, max(ax, bx)+half, img.Rect.Dx())
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			px, py := float64(x)+0.5-ax, float64(y)+0.5-ay
			t := 0.0
			if n > 0 {
				t = min(max((px*dx+py*dy)/n, 0), 1)
			}
			if d := math.Hypot(px-t*dx, py-t*dy); d < half {
				blend(img, x, y, c, min(half-d, 1))
			}
		}
	}
}
