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
	film.Patch         // the part, smoothed
	k          float64 // px of the film per px
	x0f, y0f   float64 // corner of the part, px of the film
	edge       []vector2
	points     []edgePoint
}

// edgePoint is a crest of the slope, px of m.
type edgePoint struct {
	measure.Point
	up   vector2 // unit vector to where the film grows brighter
	sure float64
}

// vector2 points to where the film grows brighter; its length is 0 for no edge
// to 1 for a sure one.
type vector2 struct{ x, y float32 }

// Slopes from which an edge begins to count and from which it counts fully, as
// multiples of the median slope around. Noise alone passes 2.5 medians, 2.9
// standard deviations, in one pixel of 75.
const (
	edgeFrom = 2.5
	edgeFull = 6.0
)

// newEdgeMap maps the edges of img within half px of c, k by k pixels at a time.
func newEdgeMap(img *image.Gray16, c measure.Point, half float64, k int) *edgeMap {
	b := img.Bounds()
	r := image.Rect(int(c.X-half), int(c.Y-half), int(c.X+half), int(c.Y+half)).Intersect(image.Rect(0, 0, b.Dx(), b.Dy()))
	if r.Dx() < 8*k || r.Dy() < 8*k {
		return nil
	}
	m := &edgeMap{k: float64(k), x0f: float64(r.Min.X), y0f: float64(r.Min.Y)}
	m.Patch = film.Shrink(img.SubImage(r.Add(b.Min)).(*image.Gray16), k)
	m.Smooth()
	m.Smooth()
	m.thin()
	return m
}

// slopes returns the slope of every pixel and its length.
func (m *edgeMap) slopes() (slope []vector2, length []float32) {
	slope, length = make([]vector2, len(m.V)), make([]float32, len(m.V))
	for y := 1; y+1 < m.H; y++ {
		for x := 1; x+1 < m.W; x++ {
			gx, gy := m.SlopeAt(x, y)
			i := y*m.W + x
			slope[i] = vector2{float32(gx), float32(gy)}
			length[i] = float32(math.Sqrt(gx*gx + gy*gy))
		}
	}
	return slope, length
}

const noiseBlock = 12 // px

// usualSlope returns the median length in blocks that overlap, by rows.
func (m *edgeMap) usualSlope(length []float32) []float64 {
	var usual, v []float64
	const rim = noiseBlock / 3
	for y0 := 0; y0 < m.H; y0 += noiseBlock {
		for x0 := 0; x0 < m.W; x0 += noiseBlock {
			v = v[:0]
			for y := max(1, y0-rim); y < min(m.H-1, y0+noiseBlock+rim); y++ {
				for x := max(1, x0-rim); x < min(m.W-1, x0+noiseBlock+rim); x++ {
					v = append(v, float64(length[y*m.W+x]))
				}
			}
			usual = append(usual, max(1, film.Median(v)))
		}
	}
	return usual
}

// thin keeps the crests of the slope that stand out, and a little around them.
func (m *edgeMap) thin() {
	slope, length := m.slopes()
	usual := m.usualSlope(length)
	blocks := (m.W + noiseBlock - 1) / noiseBlock
	here := func(x, y int) float64 { return usual[y/noiseBlock*blocks+x/noiseBlock] }
	m.edge = make([]vector2, len(m.V))
	lengths := film.Patch{W: m.W, H: m.H, V: length}
	for y := 2; y+2 < m.H; y++ {
		for x := 2; x+2 < m.W; x++ {
			i := y*m.W + x
			g := float64(length[i])
			sure := (g/here(x, y) - edgeFrom) / (edgeFull - edgeFrom)
			if sure <= 0 {
				continue
			}
			ux, uy := float64(slope[i].x)/g, float64(slope[i].y)/g
			px, py := float64(x)+0.5, float64(y)+0.5
			up, _ := lengths.At(px+ux, py+uy)
			down, _ := lengths.At(px-ux, py-uy)
			if g < up || g < down {
				continue
			}
			sure = min(1, sure)
			u := vector2{float32(ux), float32(uy)}
			m.mark(x, y, u, float32(sure))
			at := 0.0
			if bend := up - 2*g + down; bend < 0 {
				at = 0.5 * (down - up) / bend
			}
			m.points = append(m.points, edgePoint{measure.Point{X: px + at*ux, Y: py + at*uy}, u, sure})
		}
	}
}

// mark sets an edge at a pixel and a weaker one around it.
func (m *edgeMap) mark(x, y int, u vector2, sure float32) {
	for j := y - 1; j <= y+1; j++ {
		for i := x - 1; i <= x+1; i++ {
			s := sure
			if i != x || j != y {
				s *= 0.6
			}
			e := &m.edge[j*m.W+i]
			if s*s > e.x*e.x+e.y*e.y {
				*e = vector2{s * u.x, s * u.y}
			}
		}
	}
}

// erase removes the edges within width px of the film of a circle on it.
func (m *edgeMap) erase(c measure.Circle, width float64) {
	m.points = slices.DeleteFunc(m.points, func(e edgePoint) bool {
		return math.Abs(c.Distance(measure.Point{X: m.x0f + m.k*e.X, Y: m.y0f + m.k*e.Y})) < width
	})
	for y := range m.H {
		for x := range m.W {
			p := measure.Point{X: m.x0f + m.k*(float64(x)+0.5), Y: m.y0f + m.k*(float64(y)+0.5)}
			if math.Abs(c.Distance(p)) < width {
				m.edge[y*m.W+x] = vector2{}
			}
		}
	}
}

// directions returns the unit vectors to every so many sectors.
func directions(every int) (u []vector2) {
	for i := 0; i < sectors; i += every {
		sin, cos := direction(i)
		u = append(u, vector2{float32(cos), float32(sin)})
	}
	return u
}

// along returns the share of the directions u in which an edge, brighter inside, runs
// along the circle about (x, y), px of m.
func (m *edgeMap) along(x, y, r float32, u []vector2) float64 {
	var sum float32
	for _, u := range u {
		sum += m.hit(x, y, r, u)
	}
	return float64(sum) / float64(len(u))
}

// hit returns how surely an edge runs along a circle in one direction.
func (m *edgeMap) hit(x, y, r float32, u vector2) float32 {
	px, py := int(x+r*u.x), int(y+r*u.y)
	if px < 0 || py < 0 || px >= m.W || py >= m.H {
		return 0
	}
	e := m.edge[py*m.W+px]
	along := -(e.x*u.x + e.y*u.y)
	across := e.y*u.x - e.x*u.y
	if along <= 0 || across > 0.35*along || -across > 0.35*along {
		return 0
	}
	return along
}

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
	x, y, shift := (s.X-m.x0f)/m.k, (s.Y-m.y0f)/m.k, s.shift/m.k
	u, few := directions(1), directions(4) // few for a first glance
	var most [2]float64
	for dy := -shift; dy <= shift; dy += centreStep {
		for dx := -shift; dx <= shift; dx += centreStep {
			if dx*dx+dy*dy > shift*shift {
				continue
			}
			var here [2]circleMatch
			x, y := x+dx, y+dy
			room := (s.within.R - math.Hypot(m.x0f+m.k*x-s.within.X, m.y0f+m.k*y-s.within.Y)) / m.k
			for r := s.inner / m.k; r <= min(s.outer/m.k, room); r++ {
				i := 1
				if r*m.k >= s.wanted[0] && r*m.k <= s.wanted[1] {
					i = 0
				}
				if m.along(float32(x), float32(y), float32(r), few) < 0.4*max(most[i], here[i].share) {
					continue
				}
				if share := m.along(float32(x), float32(y), float32(r), u); share > here[i].share {
					here[i] = circleMatch{measure.Circle{X: x, Y: y, R: r}, share}
				}
			}
			for i, c := range here {
				if c.share > 0 {
					all[i], most[i] = append(all[i], c), max(most[i], c.share)
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
// is as wide.
const centreStep = 1.5

// polished returns the two circles that show most of those that are apart, fitted to
// their edges, px of the film.
func (m *edgeMap) polished(all []circleMatch, s circleSearch) (best []measure.Circle) {
	slices.SortFunc(all, func(a, b circleMatch) int { return cmp.Compare(b.share, a.share) })
	var tried, found []circleMatch
	for _, c := range all {
		if len(tried) == mostTried || c.share < 0.6*all[0].share {
			break
		}
		if slices.ContainsFunc(tried, func(t circleMatch) bool { return t.Center().Distance(c.Center()) < 0.6*s.apart/m.k }) {
			continue
		}
		tried = append(tried, c)
		if c, ok := m.polish(c.Circle, s.tol/m.k); ok && m.allows(c, s) {
			found = append(found, circleMatch{Circle: c, share: m.show(c, s.tol/m.k)})
		}
	}
	slices.SortFunc(found, func(a, b circleMatch) int { return cmp.Compare(b.share, a.share) })
	for _, c := range found[:min(2, len(found))] {
		best = append(best, m.film(c.Circle))
	}
	return best
}

const mostTried = 16

// film returns a circle of m in px of the film.
func (m *edgeMap) film(c measure.Circle) measure.Circle {
	return measure.Circle{X: m.x0f + m.k*c.X, Y: m.y0f + m.k*c.Y, R: m.k * c.R}
}

// allows reports whether a circle of m comes into question.
func (m *edgeMap) allows(c measure.Circle, s circleSearch) bool {
	c = m.film(c)
	return c.R >= s.inner && c.R <= s.outer && c.R+c.Center().Distance(s.within.Center()) <= s.within.R
}

// runs reports whether an edge runs along a circle, brighter inside.
func (e edgePoint) runs(c measure.Circle) bool {
	dx, dy := c.X-e.X, c.Y-e.Y
	along := dx*float64(e.up.x) + dy*float64(e.up.y)
	across := dx*float64(e.up.y) - dy*float64(e.up.x)
	return math.Abs(across) < 0.35*along
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
		next, ok := fit.CircleFrom(points, weights, c)
		if !ok {
			return c, false
		}
		c = next
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
