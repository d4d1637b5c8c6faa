package measure

import (
	"encoding/binary"
	"image"
	"math"
	"slices"
	"sync"
)

// shrink returns the means of k by k pixels of img, in bands on all cores. What
// does not fill a block at the right and lower edge is left out.
func shrink(img *image.Gray16, k int) patch {
	size := img.Bounds().Size()
	p := patch{w: size.X / k, h: size.Y / k}
	if p.w == 0 || p.h == 0 {
		return patch{}
	}
	p.v = make([]float32, p.w*p.h)
	inBands(p.h, func(from, to int) {
		sums := make([]uint32, p.w)
		for y := from; y < to; y++ {
			clear(sums)
			for row := y * k; row < (y+1)*k; row++ {
				pix := img.Pix[row*img.Stride : row*img.Stride+2*p.w*k]
				for x := range sums {
					var sum uint32
					for i := 2 * x * k; i < 2*(x+1)*k; i += 2 {
						sum += uint32(pix[i])<<8 | uint32(pix[i+1])
					}
					sums[x] += sum
				}
			}
			out := p.v[y*p.w : (y+1)*p.w]
			for x, sum := range sums {
				out[x] = float32(sum) / float32(k*k)
			}
		}
	})
	return p
}

// inBands calls f for parts of 0 to n at the same time and waits for all.
func inBands(n int, f func(from, to int)) {
	const bands = 4
	var wg sync.WaitGroup
	for i := range bands {
		wg.Go(func() { f(n*i/bands, n*(i+1)/bands) })
	}
	wg.Wait()
}

// levels are quantiles of a film's grey levels.
type levels struct{ low, middle, high float64 }

// quantiles returns the 2nd, 50th and 99.8th per cent of p, from some 20,000 of
// its pixels.
func (p *patch) quantiles() levels {
	stride := every(len(p.v))
	v := make([]float32, 0, len(p.v)/stride+1)
	for i := 0; i < len(p.v); i += stride {
		v = append(v, p.v[i])
	}
	return levelsOf(v)
}

// quantiles returns what the quantiles of the part r of img, cropped, would be.
func quantiles(img *image.Gray16, r image.Rectangle) levels {
	w, n := r.Dx(), r.Dx()*r.Dy()
	stride := every(n)
	v := make([]float32, 0, n/stride+1)
	for i := 0; i < n; i += stride {
		at := (r.Min.Y+i/w)*img.Stride + 2*(r.Min.X+i%w)
		v = append(v, float32(binary.BigEndian.Uint16(img.Pix[at:])))
	}
	return levelsOf(v)
}

// every is how many of n pixels go by for one that counts.
func every(n int) int { return max(1, n/20000) | 1 }

func levelsOf(v []float32) levels {
	last := float64(len(v) - 1)
	low, middle, high := int(0.02*last), int(0.5*last), int(0.998*last)
	l := levels{middle: float64(smallest(v, middle))}
	l.low, l.high = float64(smallest(v[:middle+1], low)), float64(smallest(v[middle:], high-middle))
	return l
}

// smooth blurs p in place by a 1 2 1 filter along both axes.
func (p *patch) smooth() {
	if p.w < 3 || p.h < 3 {
		return
	}
	row := make([]float32, p.w)
	for y := range p.h {
		v := p.v[y*p.w : (y+1)*p.w]
		copy(row, v)
		for x := 1; x+1 < p.w; x++ {
			v[x] = (row[x-1] + 2*row[x] + row[x+1]) / 4
		}
	}
	above := slices.Clone(p.v[:p.w])
	for y := 1; y+1 < p.h; y++ {
		v, below := p.v[y*p.w:(y+1)*p.w], p.v[(y+1)*p.w:(y+2)*p.w]
		for x := range v {
			old := v[x]
			v[x] = (above[x] + 2*old + below[x]) / 4
			above[x] = old
		}
	}
}

// slopeAt returns the central differences at a pixel inside p, per px.
func (p *patch) slopeAt(x, y int) (gx, gy float64) {
	i := y*p.w + x
	return float64(p.v[i+1]-p.v[i-1]) / 2, float64(p.v[i+p.w]-p.v[i-p.w]) / 2
}

// disc returns the mean and the standard deviation over the pixels within r of
// (x, y), and their number.
func (p *patch) disc(x, y, r float64) (mean, sd float64, n int) {
	var sum, squares float64
	for j := int(max(0, y-r)); j < p.h && float64(j) <= y+r; j++ {
		for i := int(max(0, x-r)); i < p.w && float64(i) <= x+r; i++ {
			dx, dy := float64(i)+0.5-x, float64(j)+0.5-y
			if dx*dx+dy*dy <= r*r {
				v := float64(p.v[j*p.w+i])
				sum += v
				squares += v * v
				n++
			}
		}
	}
	if n == 0 {
		return 0, 0, 0
	}
	mean = sum / float64(n)
	return mean, math.Sqrt(max(0, squares/float64(n)-mean*mean)), n
}
