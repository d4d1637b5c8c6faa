package measure

import (
	"encoding/binary"
	"image"
	"math"
)

// patch is a part of a film as floats.
type patch struct {
	x0, y0, w, h int // place on the film and size, px
	v            []float32
	most         *float64 // what top found; nil before
}

// crop copies the part of img within half px of (x, y), as far as it is on the
// film.
func crop(img *image.Gray16, x, y, half float64) patch {
	r := square(img, x, y, half)
	if r.Empty() {
		return patch{}
	}
	p := patch{x0: r.Min.X, y0: r.Min.Y, w: r.Dx(), h: r.Dy()}
	p.v = make([]float32, p.w*p.h)
	inBands(p.h, func(from, to int) {
		for row := from; row < to; row++ {
			at := (p.y0+row)*img.Stride + 2*p.x0
			pix := img.Pix[at : at+2*p.w]
			out := p.v[row*p.w : (row+1)*p.w]
			for len(out) >= 4 && len(pix) >= 8 { // four levels at once
				u := binary.BigEndian.Uint64(pix)
				out[0], out[1] = float32(u>>48), float32(u>>32&0xffff)
				out[2], out[3] = float32(u>>16&0xffff), float32(u&0xffff)
				out, pix = out[4:], pix[8:]
			}
			for i := range out {
				out[i] = float32(binary.BigEndian.Uint16(pix[2*i:]))
			}
		}
	})
	return p
}

// square returns the part of img within half px of (x, y), as far as it is on the
// film, counted from the film's corner.
func square(img *image.Gray16, x, y, half float64) image.Rectangle {
	size := img.Bounds().Size()
	clamp := func(v float64, most int) int { return int(max(0, min(v, float64(most)))) }
	return image.Rectangle{
		image.Pt(clamp(math.Floor(x-half), size.X), clamp(math.Floor(y-half), size.Y)),
		image.Pt(clamp(math.Ceil(x+half), size.X), clamp(math.Ceil(y+half), size.Y)),
	}
}

// level returns what at would on all of img.
func level(img *image.Gray16, x, y float64) (float64, bool) {
	size := img.Bounds().Size()
	x, y = x-0.5, y-0.5
	if !(x >= 0 && y >= 0 && x < float64(size.X-1) && y < float64(size.Y-1)) {
		return 0, false
	}
	at := int(y)*img.Stride + 2*int(x)
	p := patch{w: 2, h: 2, v: make([]float32, 0, 4)}
	for _, row := range [2][]uint8{img.Pix[at:], img.Pix[at+img.Stride:]} {
		p.v = append(p.v, float32(binary.BigEndian.Uint16(row)), float32(binary.BigEndian.Uint16(row[2:])))
	}
	return p.mix(x-math.Floor(x), y-math.Floor(y)), true
}

// at returns the grey level at (x, y) on the film by bilinear interpolation
// between pixel centres, and whether (x, y) lies between four of them.
func (p *patch) at(x, y float64) (float64, bool) {
	x -= float64(p.x0) + 0.5
	y -= float64(p.y0) + 0.5
	if !p.holds(x, y) {
		return 0, false
	}
	return p.mix(x, y), true
}

// holds reports whether (x, y), counted from the centre of p's first pixel, lies
// between four pixels of p.
func (p *patch) holds(x, y float64) bool {
	return x >= 0 && y >= 0 && x < float64(p.w-1) && y < float64(p.h-1)
}

// mix interpolates at (x, y), counted from the centre of p's first pixel.
func (p *patch) mix(x, y float64) float64 {
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	k := j*p.w + i
	a, b := float64(p.v[k]), float64(p.v[k+1])
	c, d := float64(p.v[k+p.w]), float64(p.v[k+p.w+1])
	top, bottom := a+fx*(b-a), c+fx*(d-c)
	return top + fy*(bottom-top)
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
