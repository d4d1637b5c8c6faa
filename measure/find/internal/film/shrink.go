package film

import (
	"image"
	"math"
	"slices"
	"sync"
)

// Shrink returns the means of k by k pixels of img, in bands on all cores. What
// does not fill a block at the right and lower edge is left out.
func Shrink(img *image.Gray16, k int) Patch {
	size := img.Bounds().Size()
	p := Patch{W: size.X / k, H: size.Y / k}
	if p.W == 0 || p.H == 0 {
		return Patch{}
	}
	p.V = make([]float32, p.W*p.H)
	InBands(p.H, func(from, to int) {
		sums := make([]uint32, p.W)
		for y := from; y < to; y++ {
			clear(sums)
			for row := y * k; row < (y+1)*k; row++ {
				pix := img.Pix[row*img.Stride : row*img.Stride+2*p.W*k]
				for x := range sums {
					var sum uint32
					for i := 2 * x * k; i < 2*(x+1)*k; i += 2 {
						sum += uint32(pix[i])<<8 | uint32(pix[i+1])
					}
					sums[x] += sum
				}
			}
			out := p.V[y*p.W : (y+1)*p.W]
			for x, sum := range sums {
				out[x] = float32(sum) / float32(k*k)
			}
		}
	})
	return p
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

// Levels are quantiles of a film's grey levels.
type Levels struct{ Low, Middle, High float64 }

// Quantiles returns the 2nd, 50th and 99.8th per cent of p, from some 20,000 of
// its pixels.
func (p *Patch) Quantiles() Levels {
	stride := max(1, len(p.V)/20000) | 1
	v := make([]float32, 0, len(p.V)/stride+1)
	for i := 0; i < len(p.V); i += stride {
		v = append(v, p.V[i])
	}
	last := float64(len(v) - 1)
	low, middle, high := int(0.02*last), int(0.5*last), int(0.998*last)
	l := Levels{Middle: float64(smallest(v, middle))}
	l.Low, l.High = float64(smallest(v[:middle+1], low)), float64(smallest(v[middle:], high-middle))
	return l
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

// Disc returns the mean and the standard deviation over the pixels within r of
// (x, y), and their number.
func (p *Patch) Disc(x, y, r float64) (mean, sd float64, n int) {
	var sum, squares float64
	for j := int(max(0, y-r)); j < p.H && float64(j) <= y+r; j++ {
		for i := int(max(0, x-r)); i < p.W && float64(i) <= x+r; i++ {
			dx, dy := float64(i)+0.5-x, float64(j)+0.5-y
			if dx*dx+dy*dy <= r*r {
				v := float64(p.V[j*p.W+i])
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
