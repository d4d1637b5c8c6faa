package measure

import (
	"image"
	"math"
)

// patch is a part of a film as floats.
type patch struct {
	x0, y0, w, h int // place on the film and size, px
	v            []float32
}

// crop copies the part of img within half px of (x, y), as far as it is on the
// film.
func crop(img *image.Gray16, x, y, half float64) patch {
	size := img.Bounds().Size()
	clamp := func(v float64, most int) int { return int(max(0, min(v, float64(most)))) }
	p := patch{x0: clamp(math.Floor(x-half), size.X), y0: clamp(math.Floor(y-half), size.Y)}
	p.w = clamp(math.Ceil(x+half), size.X) - p.x0
	p.h = clamp(math.Ceil(y+half), size.Y) - p.y0
	if p.w <= 0 || p.h <= 0 {
		return patch{}
	}
	p.v = make([]float32, p.w*p.h)
	for row := range p.h {
		pix := img.Pix[(p.y0+row)*img.Stride+2*p.x0:]
		out := p.v[row*p.w : (row+1)*p.w]
		for i := range out {
			out[i] = float32(uint16(pix[2*i])<<8 | uint16(pix[2*i+1]))
		}
	}
	return p
}

// at returns the grey level at (x, y) on the film by bilinear interpolation
// between pixel centres, and whether (x, y) lies between four of them.
func (p *patch) at(x, y float64) (float64, bool) {
	x -= float64(p.x0) + 0.5
	y -= float64(p.y0) + 0.5
	if !(x >= 0 && y >= 0 && x < float64(p.w-1) && y < float64(p.h-1)) {
		return 0, false
	}
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	k := j*p.w + i
	a, b := float64(p.v[k]), float64(p.v[k+1])
	c, d := float64(p.v[k+p.w]), float64(p.v[k+p.w+1])
	top, bottom := a+fx*(b-a), c+fx*(d-c)
	return top + fy*(bottom-top), true
}

// part returns an empty patch of the part of p within reach px of c.
func (p *patch) part(c Circle, reach float64) patch {
	clamp := func(v float64, from, size int) int { return from + int(max(0, min(v-float64(from), float64(size)))) }
	half := c.R + reach + 2
	q := patch{x0: clamp(c.X-half, p.x0, p.w), y0: clamp(c.Y-half, p.y0, p.h)}
	q.w, q.h = clamp(c.X+half, p.x0, p.w)-q.x0, clamp(c.Y+half, p.y0, p.h)-q.y0
	q.v = make([]float32, q.w*q.h)
	return q
}
