package film

import (
	"encoding/binary"
	"image"
	"math"
)

// Patch is a part of a film as floats.
type Patch struct {
	X0, Y0, W, H int // place on the film and size, px
	V            []float32
	most         *float64 // what top found; nil before
}

// Crop copies the part of img within half px of (x, y), as far as it is on the
// film.
func Crop(img *image.Gray16, x, y, half float64) Patch {
	r := Square(img, x, y, half)
	if r.Empty() {
		return Patch{}
	}
	p := Patch{X0: r.Min.X, Y0: r.Min.Y, W: r.Dx(), H: r.Dy()}
	p.V = make([]float32, p.W*p.H)
	InBands(p.H, func(from, to int) {
		for row := from; row < to; row++ {
			at := (p.Y0+row)*img.Stride + 2*p.X0
			pix := img.Pix[at : at+2*p.W]
			out := p.V[row*p.W : (row+1)*p.W]
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

// Square returns the part of img within half px of (x, y), as far as it is on the
// film, counted from the film's corner.
func Square(img *image.Gray16, x, y, half float64) image.Rectangle {
	return square(image.Rectangle{Max: img.Rect.Size()}, x, y, half)
}

// square returns the part of r within half px of (x, y).
func square(r image.Rectangle, x, y, half float64) image.Rectangle {
	clamp := func(v float64, least, most int) int { return int(max(float64(least), min(v, float64(most)))) }
	return image.Rect(
		clamp(math.Floor(x-half), r.Min.X, r.Max.X), clamp(math.Floor(y-half), r.Min.Y, r.Max.Y),
		clamp(math.Ceil(x+half), r.Min.X, r.Max.X), clamp(math.Ceil(y+half), r.Min.Y, r.Max.Y),
	)
}

// At returns the grey level at (x, y) on the film by bilinear interpolation
// between pixel centres, and whether (x, y) lies between four of them.
func (p *Patch) At(x, y float64) (float64, bool) {
	x -= float64(p.X0) + 0.5
	y -= float64(p.Y0) + 0.5
	if !p.holds(x, y) {
		return 0, false
	}
	return p.mix(x, y), true
}

// holds reports whether (x, y), counted from the centre of p's first pixel, lies
// between four pixels of p.
func (p *Patch) holds(x, y float64) bool {
	return x >= 0 && y >= 0 && x < float64(p.W-1) && y < float64(p.H-1)
}

// mix interpolates at (x, y), counted from the centre of p's first pixel.
func (p *Patch) mix(x, y float64) float64 {
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	k := j*p.W + i
	a, b := float64(p.V[k]), float64(p.V[k+1])
	c, d := float64(p.V[k+p.W]), float64(p.V[k+p.W+1])
	top, bottom := a+fx*(b-a), c+fx*(d-c)
	return top + fy*(bottom-top)
}
