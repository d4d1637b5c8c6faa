package film

import (
	"encoding/binary"
	"image"
	"slices"
	"sync"
)

// Shrink returns the means of k by k pixels of img, k at most 256, in bands on all
// cores. What does not fill a block at the right and lower edge is left out.
func Shrink(img *image.Gray16, k int) Patch {
	size := img.Bounds().Size()
	p := Patch{W: size.X / k, H: size.Y / k}
	if p.W == 0 || p.H == 0 {
		return Patch{}
	}
	p.V = make([]float32, p.W*p.H)
	InBands(p.H, func(from, to int) {
		columns := make([]uint32, p.W*k)
		for y := from; y < to; y++ {
			addRows(columns, img.Pix[y*k*img.Stride:], img.Stride, k)
			of, out := columns, p.V[y*p.W:(y+1)*p.W]
			for x := range out {
				sum := of[0]
				for _, v := range of[1:k] {
					sum += v
				}
				out[x], of = float32(sum)/float32(k*k), of[k:]
			}
		}
	})
	return p
}

// addRows sets columns to the sums over k rows of big-endian pixels, stride bytes apart:
// four at a time, their upper and their lower bytes each for themselves, of which 16 bits
// hold the sum of 256.
func addRows(columns []uint32, pix []uint8, stride, k int) {
	const lanes = 0x00ff00ff00ff00ff
	x := 0
	for ; x+4 <= len(columns); x += 4 {
		var upper, lower uint64
		for i, at := 0, 2*x; i < k; i, at = i+1, at+stride {
			four := binary.LittleEndian.Uint64(pix[at:])
			upper += four & lanes
			lower += four >> 8 & lanes
		}
		out := columns[x : x+4]
		out[0] = uint32(upper&0xffff<<8 + lower&0xffff)
		out[1] = uint32(upper>>16&0xffff<<8 + lower>>16&0xffff)
		out[2] = uint32(upper>>32&0xffff<<8 + lower>>32&0xffff)
		out[3] = uint32(upper>>48<<8 + lower>>48)
	}
	for ; x < len(columns); x++ {
		columns[x] = 0
		for i := range k {
			columns[x] += uint32(binary.BigEndian.Uint16(pix[i*stride+2*x:]))
		}
	}
}

// InBands calls f for parts of 0 to n at the same time and waits for all.
func InBands(n int, f func(from, to int)) {
	const bands = 4
	var wg sync.WaitGroup
	for i := range bands {
		wg.Go(func() { f(n*i/bands, n*(i+1)/bands) })
	}
	wg.Wait()
}

// Both calls f and g at the same time and waits for both.
func Both(f, g func()) {
	var wg sync.WaitGroup
	wg.Go(f)
	g()
	wg.Wait()
}

// Quantiles returns the 2nd, 50th and 99.8th per cent of p, from some 20,000 of
// its pixels.
func (p *Patch) Quantiles() (low, middle, high float64) {
	stride := max(1, len(p.V)/20000) | 1
	v := make([]float32, 0, len(p.V)/stride+1)
	for i := 0; i < len(p.V); i += stride {
		v = append(v, p.V[i])
	}
	last := float64(len(v) - 1)
	half := int(0.5 * last)
	middle = float64(Smallest(v, half))
	return float64(Smallest(v[:half+1], int(0.02*last))), middle, float64(Smallest(v[half:], int(0.998*last)-half))
}

// Smooth blurs p in place by a 1 2 1 filter along both axes.
func (p *Patch) Smooth() {
	if p.W < 3 || p.H < 3 {
		return
	}
	row := make([]float32, p.W)
	for y := range p.H {
		v := p.V[y*p.W : (y+1)*p.W]
		copy(row, v)
		for x := 1; x+1 < p.W; x++ {
			v[x] = (row[x-1] + 2*row[x] + row[x+1]) / 4
		}
	}
	above := slices.Clone(p.V[:p.W])
	for y := 1; y+1 < p.H; y++ {
		v, below := p.V[y*p.W:(y+1)*p.W], p.V[(y+1)*p.W:(y+2)*p.W]
		for x := range v {
			old := v[x]
			v[x] = (above[x] + 2*old + below[x]) / 4
			above[x] = old
		}
	}
}

// SlopeAt returns the central differences at a pixel inside p, per px.
func (p *Patch) SlopeAt(x, y int) (gx, gy float64) {
	i := y*p.W + x
	return float64(p.V[i+1]-p.V[i-1]) / 2, float64(p.V[i+p.W]-p.V[i-p.W]) / 2
}
