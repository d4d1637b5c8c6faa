package film

import "math"

// Blocks returns the means of k by k px of p; places count cells.
func (p *Patch) Blocks(k int) Patch {
	q := Patch{W: p.W / k, H: p.H / k}
	q.V = make([]float32, q.W*q.H)
	for y := range q.H * k {
		row := p.V[y*p.W:]
		out := q.V[y/k*q.W : y/k*q.W+q.W]
		for x := range out {
			var sum float32
			for _, v := range row[x*k : (x+1)*k] {
				sum += v
			}
			out[x] += sum / float32(k*k)
		}
	}
	return q
}

// Blur convolves p with a Gaussian; what is within three sigma of its edges is
// left as it is along that axis.
func (p *Patch) Blur(sigma float64) {
	half := int(math.Ceil(3 * sigma))
	kernel := make([]float32, half+1) // from the middle on
	var sum float32
	for i := range kernel {
		d := float64(i) / sigma
		kernel[i] = float32(math.Exp(-d * d / 2))
		sum += 2 * kernel[i]
	}
	sum -= kernel[0]
	for i := range kernel {
		kernel[i] /= sum
	}
	old := make([]float32, len(p.V))
	InBands(p.H, func(from, to int) {
		for y := from; y < to; y++ {
			v, out := p.V[y*p.W:(y+1)*p.W], old[y*p.W:(y+1)*p.W]
			copy(out, v)
			if inside := p.W - 2*half; inside > 0 {
				weigh(out[half:][:inside], v, half, 1, kernel)
			}
		}
	})
	InBands(p.H, func(from, to int) {
		for y := from; y < to; y++ {
			out := p.V[y*p.W : (y+1)*p.W]
			if y < half || y+half >= p.H {
				copy(out, old[y*p.W:])
				continue
			}
			weigh(out, old, y*p.W, p.W, kernel)
		}
	})
}

// weigh sets out to the sums, by the kernel's weights, of what lies in v from at on
// and of its neighbours to both sides, stride apart.
func weigh(out, v []float32, at, stride int, kernel []float32) {
	for x, v := range v[at:][:len(out)] {
		out[x] = kernel[0] * v
	}
	for i, g := range kernel[1:] {
		before, after := v[at-(i+1)*stride:][:len(out)], v[at+(i+1)*stride:][:len(out)]
		for x := range out {
			out[x] += g * (before[x] + after[x])
		}
	}
}

// Curvature returns the second differences of p, 0 at its edges.
func (p *Patch) Curvature() (xx, yy, xy []float32) {
	w := p.W
	xx, yy, xy = make([]float32, len(p.V)), make([]float32, len(p.V)), make([]float32, len(p.V))
	for y := 1; y+1 < p.H; y++ {
		for i := y*w + 1; i < y*w+w-1; i++ {
			c := 2 * p.V[i]
			xx[i] = p.V[i-1] + p.V[i+1] - c
			yy[i] = p.V[i-w] + p.V[i+w] - c
			xy[i] = (p.V[i-w-1] + p.V[i+w+1] - p.V[i-w+1] - p.V[i+w-1]) / 4
		}
	}
	return xx, yy, xy
}

// Bend returns minus the second differences of p along both axes together, 0 at its
// edges.
func (p *Patch) Bend() []float32 {
	w := p.W
	bend := make([]float32, len(p.V))
	for y := 1; y+1 < p.H; y++ {
		for i := y*w + 1; i < y*w+w-1; i++ {
			bend[i] = 4*p.V[i] - p.V[i-1] - p.V[i+1] - p.V[i-w] - p.V[i+w]
		}
	}
	return bend
}
