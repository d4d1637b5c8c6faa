package find

import (
	"image"
	"math"
	"slices"

	"linerwatch/measure/find/internal/film"
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

	half   film.Patch // the film in cells twice as wide
	smooth film.Patch // smoothed to a wire's width
}

// newMap maps the downward curvature of the film, smoothed to a wire's width,
// around the start.
func (s ringSearch) newMap(img *image.Gray16) (*ringMap, bool) {
	part := film.Square(img, s.start.X, s.start.Y, s.outer+s.shift+0.1*s.start.R)
	k := max(1, int(s.start.R/ringCells))
	p := film.Shrink(img.SubImage(part.Add(img.Rect.Min)).(*image.Gray16), k)
	if p.W < 24 || p.H < 24 {
		return nil, false
	}
	m := &ringMap{x0: float64(part.Min.X), y0: float64(part.Min.Y), k: float64(k), w: p.W, h: p.H, half: p.Blocks(2)}
	m.hide(&p, s)
	p.Blur(max(1, s.start.R/70/m.k)) // some 0.35 mm
	m.smooth, m.bend = p, p.Bend()
	return m, true
}

// lines maps the bright lines: the downward curvature across each, less what
// curvature there is along it.
func (m *ringMap) lines(s ringSearch) bool {
	xx, yy, xy := m.smooth.Curvature()
	limit := m.limit(xx, yy, xy, s)
	if limit <= 0 {
		return false
	}
	reach := max(1, int(s.start.R/50/m.k+0.5)) // lines are widened by some 0.5 mm
	film.InBands(bins, func(from, to int) {
		for b := from; b < to; b++ {
			m.direction(b, xx, yy, xy, limit, reach)
		}
	})
	return true
}

// coarse returns the map for the search of starts, in cells twice as wide, smoothed
// more, without lines.
func (m *ringMap) coarse(s ringSearch) *ringMap {
	q := m.half.Clone()
	c := &ringMap{x0: m.x0, y0: m.y0, k: 2 * m.k, w: q.W, h: q.H}
	q.Blur(max(1, s.start.R/32/c.k)) // some 0.85 mm
	c.bend = q.Bend()
	c.hidden = make([]bool, len(q.V))
	for y := range 2 * c.h {
		for x := range 2 * c.w {
			if m.hidden[y*m.w+x] {
				c.hidden[y/2*c.w+x/2] = true
			}
		}
	}
	return c
}

// hide marks the hole and what lies behind or close to metal wider than a wire:
// where the mean over some 3 mm comes near the level of metal.
func (m *ringMap) hide(p *film.Patch, s ringSearch) {
	m.hidden = make([]bool, len(p.V))
	mark := func(x0, x1, y int) {
		row := m.hidden[y*m.w:][:m.w]
		for x := max(0, x0); x <= min(m.w-1, x1); x++ {
			row[x] = true
		}
	}
	cx, cy, r := (s.hole.X-m.x0)/m.k-0.5, (s.hole.Y-m.y0)/m.k-0.5, (s.hole.R+s.start.R/36)/m.k
	for y := range p.H {
		if d := float64(y) - cy; math.Abs(d) < r {
			half := math.Sqrt(r*r - d*d)
			mark(int(math.Ceil(max(0, cx-half))), int(min(cx+half, float64(m.w))), y)
		}
	}
	q := p.Quantiles()
	limit := float32(q.Middle + 0.82*(q.High-q.Middle))
	wide := p.Clone()
	wide.Blur(s.start.R / 22 / m.k)
	near := int(s.start.R/27/m.k + 0.5)
	for i, v := range wide.V {
		if v <= limit {
			continue
		}
		x, y := i%wide.W, i/wide.W
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
