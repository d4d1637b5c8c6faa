package find

import (
	"image"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// ringMap is the film around a head, shrunken to cells of some 0.4 mm and smoothed:
// its downward curvature, which a wire has most of.
type ringMap struct {
	view
	mm     float64    // px of the film per mm
	smooth film.Patch // the view, smoothed
	bend   []float32  // its downward curvature in all directions together
	hidden []bool     // by the head, and near metal wider than a wire
	depth  []uint8    // cells to the nearest that is not hidden or at the map's edge, along rows, columns and diagonals
	noise  float64    // variance of bend where there is nothing
	most   float32    // what bend counts at most for seeds
}

// Lengths of a map, mm, for wires of 0.6 to 1.2 mm; tried by .ci/vary.
const (
	ringCell = 0.4  // of a cell, about
	mapBlur  = 0.35 // of the map
	wireBlur = 0.5  // at which a wire is fitted
)

// newMap maps the film around the start.
func (s ringSearch) newMap(img *image.Gray16) (*ringMap, bool) {
	part := film.Square(img, s.start.X, s.start.Y, s.outer+s.shift+3*s.mm)
	k := max(1, int(math.Round(ringCell*s.mm)))
	m := &ringMap{view: shrunken(img, part, k), mm: s.mm}
	if m.W < 24 || m.H < 24 {
		return nil, false
	}
	m.hide(s)
	m.sound()
	p := m.Patch
	p.V = slices.Clone(p.V)
	p.Blur(max(0.8, mapBlur*s.mm/m.k))
	m.smooth, m.bend = p, p.Bend()
	m.level()
	return m, true
}

// coarse returns the map in cells twice as wide, smoothed more, for seeds.
func (m *ringMap) coarse(s ringSearch) *ringMap {
	q := m.smooth.Blocks(2)
	c := &ringMap{view: view{q, 2 * m.k, m.corner}, mm: m.mm, hidden: make([]bool, len(q.V))}
	q.Blur(max(1, 0.75*s.mm/c.k)) // together some 0.85 mm
	c.smooth, c.bend = q, q.Bend()
	for y := range 2 * c.H {
		for x := range 2 * c.W {
			if m.hidden[y*m.W+x] {
				c.hidden[y/2*c.W+x/2] = true
			}
		}
	}
	return c
}

// What the curvature counts at most for seeds, beside edges of metal, which have more
// than a wire: some deviations of noise, or what one cell in twenty exceeds where bare
// film makes noise look small. Tried by .ci/vary.
const (
	clipNoise = 8
	clipShare = 0.95
)

// level finds the variance of the curvature where there is nothing, from what half of
// the film exceeds but for what is clipped and has none, and what it counts at most.
func (m *ringMap) level() {
	var all []float64
	for i := 0; i < len(m.bend); i += 7 {
		if !m.hidden[i] && m.bend[i] != 0 {
			all = append(all, math.Abs(float64(m.bend[i])))
		}
	}
	if len(all) == 0 {
		return
	}
	sd := 1.4826 * film.Median(all)
	m.noise, m.most = sd*sd, float32(max(clipNoise*sd, film.Smallest(all, int(clipShare*float64(len(all))))))
}

// hide marks the hole and what lies behind or close to metal wider than a wire:
// where the mean over some 3 mm comes near the level of metal.
func (m *ringMap) hide(s ringSearch) {
	m.hidden = make([]bool, len(m.V))
	mark := func(x0, x1, y int) {
		row := m.hidden[y*m.W:][:m.W]
		for x := max(0, x0); x <= min(m.W-1, x1); x++ {
			row[x] = true
		}
	}
	cx, cy, r := (s.hole.X-m.corner.X)/m.k-0.5, (s.hole.Y-m.corner.Y)/m.k-0.5, (s.hole.R+0.75*s.mm)/m.k
	for y := range m.H {
		if d := float64(y) - cy; math.Abs(d) < r {
			half := math.Sqrt(r*r - d*d)
			mark(int(math.Ceil(max(0, cx-half))), int(min(cx+half, float64(m.W))), y)
		}
	}
	_, middle, high := m.Quantiles()
	limit := float32(middle + 0.82*(high-middle))
	wide := m.Blocks(2)
	wide.Blur(1.2 * s.mm / m.k / 2)
	near := int(s.mm/m.k + 0.5)
	for i, v := range wide.V {
		if v <= limit {
			continue
		}
		x, y := 2*(i%wide.W), 2*(i/wide.W)
		for j := max(0, y-near); j <= min(m.H-1, y+1+near); j++ {
			mark(x-near, x+1+near, j)
		}
	}
}

// sound fills depth.
func (m *ringMap) sound() {
	d, w := make([]uint8, len(m.hidden)), m.W
	for i := w + 1; i < len(d); i++ {
		if m.hidden[i] {
			d[i] = 1 + min(d[i-1], d[i-w-1], d[i-w], d[i-w+1])
		}
	}
	for i := len(d) - w - 2; i >= 0; i-- {
		d[i] = min(d[i], 1+min(d[i+1], d[i+w-1], d[i+w], d[i+w+1]))
	}
	m.depth = d
}

// theta and ellipse turn ellipses on the film into what is fitted, and back.
func (m *ringMap) theta(e measure.Ellipse, blur float64) ringTheta {
	return ringTheta{(e.X - m.corner.X) / m.k, (e.Y - m.corner.Y) / m.k, e.A / m.k, e.B / m.k, e.Angle * math.Pi / 180, blur}
}

func (m *ringMap) ellipse(t ringTheta) measure.Ellipse {
	return measure.Ellipse{X: m.corner.X + t[0]*m.k, Y: m.corner.Y + t[1]*m.k, A: t[2] * m.k, B: math.Abs(t[3]) * m.k, Angle: t[4] * 180 / math.Pi}
}

// ellipse is what is fitted, in cells.
func (t ringTheta) ellipse() measure.Ellipse {
	return measure.Ellipse{X: t[0], Y: t[1], A: t[2], B: math.Abs(t[3]), Angle: t[4] * 180 / math.Pi}
}
