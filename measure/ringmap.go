package measure

import (
	"image"
	"math"
	"slices"
)

// bins is the number of directions of lines a ringMap tells apart.
const bins = 12

// ringMap tells where bright lines run on a shrunken part of a film, by the
// direction across them.
type ringMap struct {
	x0, y0 float64 // px of the film
	k      float64 // px of the film per cell
	w, h   int
	line   [bins][]uint8 // 255 for a clear line
	hidden []bool        // behind wide metal
	bend   []float32     // downward curvature in all directions together

	half   patch // the film in cells twice as wide
	smooth patch // smoothed to a wire's width
}

// newMap maps the downward curvature of the film, smoothed to a wire's width,
// around the start.
func (s ringSearch) newMap(img *image.Gray16) (*ringMap, bool) {
	part := square(img, s.start.X, s.start.Y, s.outer+s.shift+0.1*s.start.R)
	k := max(1, int(s.start.R/ringCells))
	p := shrink(img.SubImage(part.Add(img.Rect.Min)).(*image.Gray16), k)
	if p.w < 24 || p.h < 24 {
		return nil, false
	}
	m := &ringMap{x0: float64(part.Min.X), y0: float64(part.Min.Y), k: float64(k), w: p.w, h: p.h, half: p.blocks(2)}
	m.hide(&p, s)
	p.blur(max(1, s.start.R/70/m.k)) // some 0.35 mm
	m.smooth, m.bend = p, p.bend()
	return m, true
}

// lines maps the bright lines: the downward curvature across each, less what
// curvature there is along it.
func (m *ringMap) lines(s ringSearch) bool {
	xx, yy, xy := m.smooth.curvature()
	limit := m.limit(xx, yy, xy, s)
	if limit <= 0 {
		return false
	}
	reach := max(1, int(s.start.R/50/m.k+0.5)) // lines are widened by some 0.5 mm
	inBands(bins, func(from, to int) {
		for b := from; b < to; b++ {
			m.direction(b, xx, yy, xy, limit, reach)
		}
	})
	return true
}

// blocks returns the means of k by k px of p; places count cells.
func (p *patch) blocks(k int) patch {
	q := patch{w: p.w / k, h: p.h / k}
	q.v = make([]float32, q.w*q.h)
	for y := range q.h * k {
		row := p.v[y*p.w:]
		out := q.v[y/k*q.w : y/k*q.w+q.w]
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

// blur convolves p with a Gaussian; what is within three sigma of its edges is
// left as it is along that axis.
func (p *patch) blur(sigma float64) {
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
	old := make([]float32, len(p.v))
	inBands(p.h, func(from, to int) {
		for y := from; y < to; y++ {
			v, out := p.v[y*p.w:(y+1)*p.w], old[y*p.w:(y+1)*p.w]
			copy(out, v)
			if inside := p.w - 2*half; inside > 0 {
				weigh(out[half:][:inside], v, half, 1, kernel)
			}
		}
	})
	inBands(p.h, func(from, to int) {
		for y := from; y < to; y++ {
			out := p.v[y*p.w : (y+1)*p.w]
			if y < half || y+half >= p.h {
				copy(out, old[y*p.w:])
				continue
			}
			weigh(out, old, y*p.w, p.w, kernel)
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

// curvature returns the second differences of p, 0 at its edges.
func (p *patch) curvature() (xx, yy, xy []float32) {
	w := p.w
	xx, yy, xy = make([]float32, len(p.v)), make([]float32, len(p.v)), make([]float32, len(p.v))
	for y := 1; y+1 < p.h; y++ {
		for i := y*w + 1; i < y*w+w-1; i++ {
			c := 2 * p.v[i]
			xx[i] = p.v[i-1] + p.v[i+1] - c
			yy[i] = p.v[i-w] + p.v[i+w] - c
			xy[i] = (p.v[i-w-1] + p.v[i+w+1] - p.v[i-w+1] - p.v[i+w-1]) / 4
		}
	}
	return xx, yy, xy
}

// bend returns minus the second differences of p along both axes together, 0 at its
// edges.
func (p *patch) bend() []float32 {
	w := p.w
	bend := make([]float32, len(p.v))
	for y := 1; y+1 < p.h; y++ {
		for i := y*w + 1; i < y*w+w-1; i++ {
			bend[i] = 4*p.v[i] - p.v[i-1] - p.v[i+1] - p.v[i-w] - p.v[i+w]
		}
	}
	return bend
}

// coarse returns the map for the search of starts, in cells twice as wide, smoothed
// more, without lines.
func (m *ringMap) coarse(s ringSearch) *ringMap {
	q := m.half.clone()
	c := &ringMap{x0: m.x0, y0: m.y0, k: 2 * m.k, w: q.w, h: q.h}
	q.blur(max(1, s.start.R/32/c.k)) // some 0.85 mm
	c.bend = q.bend()
	c.hidden = make([]bool, len(q.v))
	for y := range 2 * c.h {
		for x := range 2 * c.w {
			if m.hidden[y*m.w+x] {
				c.hidden[y/2*c.w+x/2] = true
			}
		}
	}
	return c
}

func (p *patch) clone() patch {
	return patch{w: p.w, h: p.h, v: slices.Clone(p.v)}
}

// hide marks the hole and what lies behind or close to metal wider than a wire:
// where the mean over some 3 mm comes near the level of metal.
func (m *ringMap) hide(p *patch, s ringSearch) {
	m.hidden = make([]bool, len(p.v))
	mark := func(x0, x1, y int) {
		row := m.hidden[y*m.w:][:m.w]
		for x := max(0, x0); x <= min(m.w-1, x1); x++ {
			row[x] = true
		}
	}
	cx, cy, r := (s.hole.X-m.x0)/m.k-0.5, (s.hole.Y-m.y0)/m.k-0.5, (s.hole.R+s.start.R/36)/m.k
	for y := range p.h {
		if d := float64(y) - cy; math.Abs(d) < r {
			half := math.Sqrt(r*r - d*d)
			mark(int(math.Ceil(max(0, cx-half))), int(min(cx+half, float64(m.w))), y)
		}
	}
	q := p.quantiles()
	limit := float32(q.middle + 0.82*(q.high-q.middle))
	wide := p.clone()
	wide.blur(s.start.R / 22 / m.k)
	near := int(s.start.R/27/m.k + 0.5)
	for i, v := range wide.v {
		if v <= limit {
			continue
		}
		x, y := i%wide.w, i/wide.w
		for j := max(0, y-near); j <= min(m.h-1, y+near); j++ {
			mark(x-near, x+near, j)
		}
	}
}

// limit is the strength of a clear line: what a small share of the cells within
// the range of the ring exceeds.
func (m *ringMap) limit(xx, yy, xy []float32, s ringSearch) float32 {
	var all []float64
	cx, cy := (s.start.X-m.x0)/m.k, (s.start.Y-m.y0)/m.k
	inner, outer := (s.hole.R+0.02*s.start.R)/m.k, (s.outer+s.shift)/m.k
	for y := 1; y+1 < m.h; y++ {
		for x := 1 + y%2; x+1 < m.w; x += 2 {
			i := y*m.w + x
			d := math.Hypot(float64(x)+0.5-cx, float64(y)+0.5-cy)
			if m.hidden[i] || d < inner || d > outer {
				continue
			}
			half, r := float64(xx[i]+yy[i])/2, math.Hypot(float64(xx[i]-yy[i])/2, float64(xy[i]))
			all = append(all, max(0, r-half-math.Abs(half+r)))
		}
	}
	if len(all) < 100 {
		return 0
	}
	slices.Sort(all)
	return float32(all[len(all)*95/100])
}

// direction fills the map of lines whose normal points along b/bins of half a
// turn.
func (m *ringMap) direction(b int, xx, yy, xy []float32, limit float32, reach int) {
	sin, cos := math.Sincos(math.Pi * float64(b) / bins)
	s2, c2, sc := float32(sin*sin), float32(cos*cos), float32(2*sin*cos)
	raw := make([]uint8, len(xx))
	for i := range xx {
		across := -(c2*xx[i] + s2*yy[i] + sc*xy[i])
		along := s2*xx[i] + c2*yy[i] - sc*xy[i]
		if along < 0 {
			along = -along
		}
		raw[i] = uint8(255 * max(0, min(1, (across-along)/limit)))
	}
	out := append([]uint8(nil), raw...)
	for d := 1; d <= reach; d++ {
		dx, dy := int(math.Round(float64(d)*cos)), int(math.Round(float64(d)*sin))
		for y := max(0, dy); y < m.h-max(0, dy); y++ {
			for x := max(dx, -dx); x < m.w-max(dx, -dx); x++ {
				i, j := y*m.w+x, dy*m.w+dx
				out[i] = max(out[i], raw[i+j], raw[i-j])
			}
		}
	}
	m.line[b] = out
}
