package find

import (
	"cmp"
	"image"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
	"linerwatch/measure/fit"
)

// edgeMap holds, for each pixel of a shrunken part of a film, how surely an edge
// runs through it and in which direction the film grows brighter there. How
// strong the edge is does not count beyond that: behind a dense shell a head's
// outline is a hundred times fainter than beside it.
type edgeMap struct {
	view          // the part, smoothed
	edge   []edge // of the part and so many px around it
	around int
	points []edgePoint
}

// edge is how surely an edge runs through a pixel, of 255, and the direction in which
// the film grows darker there, of 256 to the turn.
type edge struct{ sure, down uint8 }

// edgePoint is a crest of the slope, px of m.
type edgePoint struct {
	measure.Point
	up   measure.Point // unit vector to where the film grows brighter
	sure float64
}

// Slopes from which an edge begins to count and from which it counts fully, as
// multiples of the median slope around. Noise alone passes 2.5 medians, 2.9
// standard deviations, in one pixel of 75. Tried by .ci/vary.
const (
	edgeFrom = 2.5
	edgeFull = 6.0
)

// newEdgeMap maps the edges of img within half px of c, k by k pixels at a time.
func newEdgeMap(img *image.Gray16, c measure.Point, half float64, k int) *edgeMap {
	all := image.Rect(int(c.X-half), int(c.Y-half), int(c.X+half), int(c.Y+half))
	r := all.Intersect(image.Rectangle{Max: img.Rect.Size()})
	if r.Dx() < 8*k || r.Dy() < 8*k {
		return nil
	}
	m := &edgeMap{view: shrunken(img, r, k)}
	off := max(r.Min.X-all.Min.X, r.Min.Y-all.Min.Y, all.Max.X-r.Max.X, all.Max.Y-r.Max.Y)
	m.around = (off + k - 1) / k
	m.Smooth()
	m.Smooth()
	m.thin()
	return m
}

// slopes returns the length of the slope of every pixel.
func (m *edgeMap) slopes() []float32 {
	length := make([]float32, len(m.V))
	for y := 1; y+1 < m.H; y++ {
		for x := 1; x+1 < m.W; x++ {
			gx, gy := m.SlopeAt(x, y)
			length[y*m.W+x] = float32(math.Sqrt(gx*gx + gy*gy))
		}
	}
	return length
}

const noiseBlock = 12 // px; tried by .ci/vary

// usualSlope returns the median length in blocks that overlap, by rows.
func (m *edgeMap) usualSlope(length []float32) []float64 {
	rows, blocks := (m.H+noiseBlock-1)/noiseBlock, (m.W+noiseBlock-1)/noiseBlock
	usual := make([]float64, rows*blocks)
	film.InBands(len(usual), func(from, to int) {
		var v []float32
		for i := from; i < to; i++ {
			const rim = noiseBlock / 3
			x0, y0 := i%blocks*noiseBlock, i/blocks*noiseBlock
			v = v[:0]
			for y := max(1, y0-rim); y < min(m.H-1, y0+noiseBlock+rim); y++ {
				v = append(v, length[y*m.W:][max(1, x0-rim):min(m.W-1, x0+noiseBlock+rim)]...)
			}
			usual[i] = max(1, float64(film.Smallest(v, len(v)/2)))
		}
	})
	return usual
}

// thin keeps the crests of the slope that stand out, and a little around them.
func (m *edgeMap) thin() {
	length := m.slopes()
	usual := m.usualSlope(length)
	blocks := (m.W + noiseBlock - 1) / noiseBlock
	here := func(x, y int) float64 { return usual[y/noiseBlock*blocks+x/noiseBlock] }
	m.edge = make([]edge, (m.W+2*m.around)*(m.H+2*m.around))
	lengths := film.Patch{W: m.W, H: m.H, V: length}
	for y := 2; y+2 < m.H; y++ {
		for x := 2; x+2 < m.W; x++ {
			g := float64(length[y*m.W+x])
			sure := (g/here(x, y) - edgeFrom) / (edgeFull - edgeFrom)
			if sure <= 0 {
				continue
			}
			ux, uy := m.SlopeAt(x, y)
			ux, uy = ux/g, uy/g
			px, py := float64(x)+0.5, float64(y)+0.5
			up, _ := lengths.At(px+ux, py+uy)
			down, _ := lengths.At(px-ux, py-uy)
			if g < up || g < down {
				continue
			}
			sure = min(1, sure)
			dark := math.Round(math.Atan2(-uy, -ux) * 128 / math.Pi)
			m.mark(x, y, edge{uint8(math.Round(255 * sure)), uint8(int(dark))})
			at := 0.0
			if bend := up - 2*g + down; bend < 0 {
				at = 0.5 * (down - up) / bend
			}
			m.points = append(m.points, edgePoint{measure.Point{X: px + at*ux, Y: py + at*uy}, measure.Point{X: ux, Y: uy}, sure})
		}
	}
}

// place returns the index in edge of a pixel.
func (m *edgeMap) place(x, y int) int { return (y+m.around)*(m.W+2*m.around) + x + m.around }

// mark sets an edge at a pixel and a weaker one around it.
func (m *edgeMap) mark(x, y int, e edge) {
	beside := edge{uint8(6 * int(e.sure) / 10), e.down}
	for j := y - 1; j <= y+1; j++ {
		for i := x - 1; i <= x+1; i++ {
			here, at := beside, m.place(i, j)
			if i == x && j == y {
				here = e
			}
			if here.sure > m.edge[at].sure {
				m.edge[at] = here
			}
		}
	}
}

// erase removes the edges within width px of the film of a circle on it.
func (m *edgeMap) erase(c measure.Circle, width float64) {
	c, width = m.cells(c), width/m.k
	m.points = slices.DeleteFunc(m.points, func(e edgePoint) bool { return math.Abs(c.Distance(e.Point)) < width })
	for y := range m.H {
		for x := range m.W {
			if math.Abs(c.Distance(measure.Point{X: float64(x) + 0.5, Y: float64(y) + 0.5})) < width {
				m.edge[m.place(x, y)] = edge{}
			}
		}
	}
}

// along holds the places of the pixels in the directions from a pixel's centre at a
// radius, a few of them first for a glance.
type along struct{ few, others [][2]int32 } // place from the centre's, direction of 256 to the turn

// glances is one in so many directions; tried by .ci/vary.
const glances = 4

func (m *edgeMap) along(r float64) (a along) {
	for i := range sectors {
		sin, cos := direction(i)
		x, y := int32(math.Floor(0.5+r*cos)), int32(math.Floor(0.5+r*sin))
		at := [2]int32{y*int32(m.W+2*m.around) + x, int32(math.Round(256 * float64(i) / sectors))}
		if i%glances == 0 {
			a.few = append(a.few, at)
		} else {
			a.others = append(a.others, at)
		}
	}
	return a
}

// hits returns the sum over some directions of how surely an edge, brighter inside, runs
// there across the way from a place.
func (m *edgeMap) hits(at int, ways [][2]int32) (sum int) {
	for _, w := range ways {
		e := m.edge[at+int(w[0])]
		sum += int(e.sure) * int(facing[e.down-uint8(w[1])])
	}
	return sum
}

// facing is the cosine of an angle, of 256 to the turn, up to one whose tangent is 0.35,
// as far as it goes into 255; and fully what an edge that is sure and faces comes to.
var facing = func() (all [256]uint8) {
	for i := range all {
		if sin, cos := math.Sincos(float64(i) * math.Pi / 128); cos > 0 && math.Abs(sin) <= 0.35*cos {
			all[i] = uint8(math.Round(255 * cos))
		}
	}
	return all
}()

const fully = 255 * 255

// circleMatch is a circle and the share of its turn that shows.
type circleMatch struct {
	measure.Circle
	share float64
}

// circleSearch says which circles come into question, px of the film: centres
// within shift of a point, radii from inner to outer, all inside a circle.
type circleSearch struct {
	measure.Point
	shift, inner, outer float64
	within              measure.Circle
	apart               float64    // distance of centres from which a circle is another
	tol                 float64    // distance at which an edge no longer counts
	wanted              [2]float64 // radii of which a circle is returned, beside one of others
}

// circles returns those that show on most of their way, px of the film: up to two of
// the radii that are wanted, and of the others.
func (m *edgeMap) circles(s circleSearch) (best []measure.Circle) {
	var all [2][]circleMatch // of radii that are wanted, and of others, the best about each centre
	var ways []along
	inner := s.inner / m.k
	for r := inner; r <= s.outer/m.k; r++ {
		ways = append(ways, m.along(r))
	}
	from, shift := m.cells(measure.Circle{X: s.X, Y: s.Y}), s.shift/m.k
	var most [2]int
	for dy := -shift; dy <= shift; dy += centreStep {
		for dx := -shift; dx <= shift; dx += centreStep {
			i, j := int(math.Floor(from.X+dx)), int(math.Floor(from.Y+dy))
			c := measure.Circle{X: float64(i) + 0.5, Y: float64(j) + 0.5}
			room := min(s.outer, s.within.R-m.px(c).Center().Distance(s.within.Center())) / m.k
			if dx*dx+dy*dy > shift*shift {
				continue
			}
			var here [2]int
			var radius [2]float64
			at := m.place(i, j)
			for n, w := range ways[:max(0, min(len(ways), int(room-inner)+1))] {
				r, class := inner+float64(n), 1
				if r*m.k >= s.wanted[0] && r*m.k <= s.wanted[1] {
					class = 0
				}
				sum := m.hits(at, w.few)
				if 10*glances*sum < 4*max(most[class], here[class]) {
					continue
				}
				if sum += m.hits(at, w.others); sum > here[class] {
					here[class], radius[class] = sum, r
				}
			}
			for class, sum := range here {
				if sum > 0 {
					c.R = radius[class]
					all[class], most[class] = append(all[class], circleMatch{c, float64(sum) / (sectors * fully)}), max(most[class], sum)
				}
			}
		}
	}
	for _, class := range all {
		best = append(best, m.polished(class, s)...)
	}
	return best
}

// centreStep is how far the centres that are tried lie from each other, px of m: an edge
// is as wide; tried by .ci/vary.
const centreStep = 1.5

// polished returns the two circles that show most of those that are apart, fitted to
// their edges, px of the film.
func (m *edgeMap) polished(all []circleMatch, s circleSearch) (best []measure.Circle) {
	slices.SortFunc(all, func(a, b circleMatch) int { return cmp.Compare(b.share, a.share) })
	var tried []circleMatch
	for _, c := range all {
		if len(tried) == mostTried || c.share < 0.6*all[0].share {
			break
		}
		if !slices.ContainsFunc(tried, func(t circleMatch) bool { return t.Center().Distance(c.Center()) < 0.6*s.apart/m.k }) {
			tried = append(tried, c)
		}
	}
	found := make([]circleMatch, len(tried))
	film.InBands(len(tried), func(from, to int) {
		for i := from; i < to; i++ {
			if c, ok := m.polish(tried[i].Circle, s.tol/m.k); ok && m.allows(c, s) {
				found[i] = circleMatch{Circle: c, share: m.show(c, s.tol/m.k)}
			}
		}
	})
	found = slices.DeleteFunc(found, func(c circleMatch) bool { return c.R == 0 })
	slices.SortFunc(found, func(a, b circleMatch) int { return cmp.Compare(b.share, a.share) })
	for _, c := range found[:min(2, len(found))] {
		best = append(best, m.px(c.Circle))
	}
	return best
}

const mostTried = 16 // circles that are fitted; tried by .ci/vary

// allows reports whether a circle of m comes into question.
func (m *edgeMap) allows(c measure.Circle, s circleSearch) bool {
	c = m.px(c)
	return c.R >= s.inner && c.R <= s.outer && c.R+c.Center().Distance(s.within.Center()) <= s.within.R
}

// runs reports whether an edge runs along a circle, brighter inside.
func (e edgePoint) runs(c measure.Circle) bool {
	dx, dy := c.X-e.X, c.Y-e.Y
	return math.Abs(dx*e.up.Y-dy*e.up.X) < 0.35*(dx*e.up.X+dy*e.up.Y)
}

// polish fits a circle to the edges that run along it, from within a few tol to
// tol px of m.
func (m *edgeMap) polish(c measure.Circle, tol float64) (measure.Circle, bool) {
	var points []measure.Point
	var weights []float64
	for _, wide := range []float64{2.5, 2, 1.5, 1.2, 1, 1} {
		points, weights = points[:0], weights[:0]
		for _, e := range m.points {
			d := c.Distance(e.Point) / (wide * tol)
			if math.Abs(d) < 1 && e.runs(c) {
				points, weights = append(points, e.Point), append(weights, e.sure*(1-d*d)*(1-d*d))
			}
		}
		if len(points) < 8 {
			return c, false
		}
		d := fit.Departed{Circle: c}
		if !d.Near(points, weights, nil, 0, 4) {
			return c, false
		}
		c = d.Circle
	}
	return c, true
}

// show returns the share of the sectors in which an edge runs along a circle,
// within tol px of m.
func (m *edgeMap) show(c measure.Circle, tol float64) (share float64) {
	var best [sectors]float64
	for _, e := range m.points {
		d := c.Distance(e.Point) / tol
		if math.Abs(d) >= 1 || !e.runs(c) {
			continue
		}
		angle := math.Atan2(e.Y-c.Y, e.X-c.X) / (2 * math.Pi) * sectors
		i := (int(math.Floor(angle)) + sectors) % sectors
		best[i] = max(best[i], e.sure*(1-d*d))
	}
	for _, v := range best {
		share += v / sectors
	}
	return share
}
