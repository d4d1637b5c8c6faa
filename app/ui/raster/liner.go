package raster

import (
	"image"
	"image/color"
	"math"
)

// Liner is a drawing to scale of a ball in its socket, seen as on the film.
// Lengths are in mm; x goes to the right, y downwards.
type Liner struct {
	Width, Height int
	Scale         float64 // picture pixels per unit of the screen
	HeadR         float64 // radius of the head
	LinerMM       float64 // thickness of the liner when new; 0 where unknown: none is drawn
	CupR          float64 // radius of the cup's outline
	CupX, CupY    float64 // its centre from the head's first place
	DX, DY        float64 // the head's movement since the first film
	Ground, Ink   color.RGBA
	Cup, PE, Head color.RGBA
	Then, Moved   color.RGBA
	Labels        [3]string // of the first place, the present one, and the bar; no movement is drawn where the first is empty
}

// PerMM returns picture pixels per millimetre.
func (l Liner) PerMM() float64 {
	half := max(l.CupR+math.Hypot(l.CupX, l.CupY), l.HeadR+l.LinerMM) * 1.08
	return min(float64(l.Width), float64(l.Height)*0.86) / (2 * half)
}

// Draw returns the drawing.
func (l Liner) Draw(t *Type) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, l.Width, l.Height))
	for i := 0; i < len(img.Pix); i += 4 {
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = l.Ground.R, l.Ground.G, l.Ground.B, 255
	}
	if l.Width < 20 || l.Height < 20 || !(l.HeadR > 0) {
		return img
	}
	m, k := l.PerMM(), max(l.Scale, 1)
	x, y := float64(l.Width)/2, float64(l.Height)*0.44
	disc(img, x+l.CupX*m, y+l.CupY*m, l.CupR*m, l.Cup)
	if l.LinerMM > 0 {
		disc(img, x, y, (l.HeadR+l.LinerMM)*m, l.PE)
	}
	nx, ny := x+l.DX*m, y+l.DY*m
	line(img, x, y, nx, ny, 2*l.HeadR*m, l.Ground) // the way that the head has made
	disc(img, nx, ny, l.HeadR*m, l.Head)
	if l.Labels[0] != "" {
		ring(img, x, y, l.HeadR*m, 1.5*k, l.Then)
		l.arrow(img, x, y, nx, ny, k)
	}
	l.bar(img, t, m, k)
	return img
}

// arrow shows the movement at its true length.
func (l Liner) arrow(img *image.RGBA, x, y, nx, ny, k float64) {
	disc(img, x, y, 2.5*k, l.Then)
	line(img, x, y, nx, ny, 2.5*k, l.Moved)
	disc(img, nx, ny, 3.5*k, l.Moved)
}

func (l Liner) bar(img *image.RGBA, t *Type, m, k float64) {
	const mm = 10
	x, y := 14*k, float64(l.Height)-14*k
	line(img, x, y, x+mm*m, y, 2*k, l.Ink)
	line(img, x, y-5*k, x, y+5*k, 2*k, l.Ink)
	line(img, x+mm*m, y-5*k, x+mm*m, y+5*k, 2*k, l.Ink)
	if t == nil {
		return
	}
	t.write(img, x, y-10*k, 13*k, l.Labels[2], l.Ink)
	if l.Labels[0] == "" {
		return
	}
	right := func(y float64, s string, c color.RGBA) {
		w := t.width(s, 13*k)
		disc(img, float64(l.Width)-w-26*k, y-4.5*k, 4*k, c)
		t.write(img, float64(l.Width)-w-16*k, y, 13*k, s, l.Ink)
	}
	right(y-18*k, l.Labels[0], l.Then)
	right(y, l.Labels[1], l.Moved)
}
