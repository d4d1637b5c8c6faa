package raster

import (
	"image"
	"image/color"
	"math"
)

// The colours of what belongs to the picture, not to an outline.
var (
	edgeColor = color.RGBA{0, 0, 0, 120}
	white     = color.RGBA{235, 238, 241, 255}
)

// pen draws into a picture; k is picture pixels per unit of the screen. Without
// text it draws lines only.
type pen struct {
	img  *image.RGBA
	text *Type
	k    float64
}

func (p pen) overlay(s Scene) {
	place := func(x, y float64) (vx, vy float64) { return (x - s.X) * s.Zoom, (y - s.Y) * s.Zoom }
	for _, r := range s.Rings {
		x, y := place(r.X, r.Y)
		if r.Width == 0 {
			continue // its centre alone is shown
		}
		if !r.Ghost {
			ring(p.img, x, y, r.R*s.Zoom, (r.Width+2)*p.k, edgeColor)
		}
		ring(p.img, x, y, r.R*s.Zoom, r.Width*p.k, r.Color)
	}
	for _, w := range s.Wires {
		e := w.Ellipse
		e.X, e.Y = place(e.X, e.Y)
		e.A, e.B = e.A*s.Zoom, e.B*s.Zoom
		ellipse(p.img, e, (w.Width+2)*p.k, edgeColor)
		ellipse(p.img, e, w.Width*p.k, w.Color)
	}
	for _, l := range s.Lines {
		ax, ay := place(l.AX, l.AY)
		bx, by := place(l.BX, l.BY)
		p.line(ax, ay, bx, by, l)
	}
	for _, d := range s.Dots {
		x, y := place(d.X, d.Y)
		p.dot(x, y, d)
	}
	for _, r := range s.Rings {
		x, y := place(r.X, r.Y)
		p.centre(x, y, r)
	}
	for _, h := range s.Handles {
		x, y := place(h.X, h.Y)
		p.handle(x, y, h)
	}
	for _, a := range s.Arrows {
		x, y := place(a.X, a.Y)
		p.arrow(x, y, a.DX*s.Zoom, a.DY*s.Zoom, a)
	}
	for _, l := range s.Labels {
		x, y := place(l.X, l.Y)
		p.label(x, y, l)
	}
	p.furniture(s)
}

// line draws a line, dashed where it is to be told from an outline.
func (p pen) line(ax, ay, bx, by float64, l Line) {
	const dash, gap = 9, 6
	n := math.Hypot(bx-ax, by-ay)
	if !l.Dashed || n == 0 {
		line(p.img, ax, ay, bx, by, (l.Width+2)*p.k, edgeColor)
		line(p.img, ax, ay, bx, by, l.Width*p.k, l.Color)
		return
	}
	ux, uy := (bx-ax)/n, (by-ay)/n
	for t := 0.0; t < n; t += (dash + gap) * p.k {
		to := min(t+dash*p.k, n)
		line(p.img, ax+t*ux, ay+t*uy, ax+to*ux, ay+to*uy, (l.Width+2)*p.k, edgeColor)
		line(p.img, ax+t*ux, ay+t*uy, ax+to*ux, ay+to*uy, l.Width*p.k, l.Color)
	}
}

// handle draws a filled dot in a dark rim; grown, a ring that leaves the film
// below in view.
func (p pen) handle(x, y float64, h Handle) {
	if h.Grown {
		ring(p.img, x, y, 8*p.k, 4.5*p.k, edgeColor)
		ring(p.img, x, y, 8*p.k, 2.2*p.k, h.Color)
		disc(p.img, x, y, 1.6*p.k, h.Color)
		return
	}
	disc(p.img, x, y, 4.6*p.k, edgeColor)
	disc(p.img, x, y, 3.2*p.k, h.Color)
}

// label writes beside a point, on the side where there is room.
func (p pen) label(x, y float64, l Label) {
	if p.text == nil || l.Text == "" {
		return
	}
	px := 12.5 * p.k
	w := p.text.width(l.Text, px)
	x += 14 * p.k
	if x+w > float64(p.img.Rect.Dx())-6*p.k {
		x -= w + 28*p.k
	}
	x = max(x, 6*p.k)
	p.write(x, y+4*p.k, px, l.Text, l.Color)
}

// write sets text on a dark plate, its baseline's start at (x, y).
func (p pen) write(x, y, px float64, text string, c color.RGBA) {
	x0, x1 := clip(x-5*p.k, x+p.text.width(text, px)+5*p.k, p.img.Rect.Dx())
	y0, y1 := clip(y-px-2*p.k, y+px*0.35+2*p.k, p.img.Rect.Dy())
	for j := y0; j < y1; j++ {
		for i := x0; i < x1; i++ {
			blend(p.img, i, j, Plate, 1)
		}
	}
	p.text.write(p.img, x, y, px, text, c)
}

func (p pen) dot(x, y float64, d Dot) {
	if !d.Rejected {
		disc(p.img, x, y, 1.4*p.k, d.Color)
		return
	}
	r := 2.2 * p.k
	line(p.img, x-r, y-r, x+r, y+r, p.k, d.Color)
	line(p.img, x-r, y+r, x+r, y-r, p.k, d.Color)
}

func (p pen) centre(x, y float64, r Ring) {
	if n := r.Cross * p.k; n > 0 {
		line(p.img, x-n, y, x+n, y, 3*p.k, edgeColor)
		line(p.img, x, y-n, x, y+n, 3*p.k, edgeColor)
		line(p.img, x-n, y, x+n, y, p.k, r.Color)
		line(p.img, x, y-n, x, y+n, p.k, r.Color)
	}
	if r.Handle {
		ring(p.img, x, y, 9*p.k, 2*p.k, r.Color)
	}
}

func (p pen) arrow(x, y, dx, dy float64, a Arrow) {
	n := math.Hypot(dx, dy)
	if n < 2*p.k {
		return
	}
	ux, uy := dx/n, dy/n
	tip := min(9*p.k, n)
	stroke := func(width float64, c color.RGBA) {
		line(p.img, x, y, x+dx, y+dy, width, c)
		for _, s := range []float64{-1, 1} {
			line(p.img, x+dx, y+dy, x+dx-tip*(ux-s*uy*0.5), y+dy-tip*(uy+s*ux*0.5), width, c)
		}
	}
	stroke(4*p.k, edgeColor)
	stroke(2*p.k, a.Color)
	if p.text != nil && a.Label != "" {
		p.write(x+dx+10*p.k, y+dy-4*p.k, 12.5*p.k, a.Label, a.Color)
	}
}

// furniture draws the scale bar and the corner marks.
func (p pen) furniture(s Scene) {
	const margin = 14
	k := p.k
	if p.text == nil {
		return
	}
	if s.Bar.Length > 0 {
		x, y, n := margin*k, float64(s.Height)-margin*k, s.Bar.Length*s.Zoom
		bar := func(width float64, c color.RGBA) {
			line(p.img, x, y, x+n, y, width, c)
			line(p.img, x, y-4*k, x, y+4*k, width, c)
			line(p.img, x+n, y-4*k, x+n, y+4*k, width, c)
		}
		bar(4*k, edgeColor)
		bar(1.5*k, white)
		p.write(x+5*k, y-13*k, 12*k, s.Bar.Label, white)
	}
	var used [2][2]float64 // lines taken at each corner
	for _, m := range s.Marks {
		i, j, x, y := 0, 0, margin*k, (margin+12)*k
		if !m.Left {
			i, x = 1, float64(s.Width)-margin*k-p.text.width(m.Text, 13*k)
		}
		y += used[i][0]
		if !m.Top {
			j, y = 1, float64(s.Height)-margin*k-used[i][1]
		}
		used[i][j] += 22 * k
		p.write(x, y, 13*k, m.Text, white)
	}
}
