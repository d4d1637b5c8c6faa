package measure

import (
	"cmp"
	"image"
	"math"
	"slices"
)

// ringSearch looks for the bright line of a wire marker ring, which projects to
// an ellipse, in a shrunken part of a film.
type ringSearch struct {
	start        Circle  // centre, and half of the long axis, px of the film
	shift        float64 // largest distance of the centre from the start's, px
	inner, outer float64 // smallest and largest half of the long axis, px
	hole         Circle  // what to leave out: the head, where it is known
}

// ringCells is the half of the long axis in px of the shrunken film.
const ringCells = 50

// lines returns the map of bright lines around the start.
func (s ringSearch) lines(img *image.Gray16) (ridgeMap, bool) {
	k := max(1, s.start.R/ringCells)
	film := crop(img, s.start.X, s.start.Y, s.outer+s.shift+8*k)
	if film.w < 16 || film.h < 16 {
		return ridgeMap{}, false
	}
	return ridges(&film, k), true
}

// find returns up to five ellipses, the best for its length of the long axis
// each, where a bright line runs along enough of the points outside the hole;
// the best first.
func (s ringSearch) find(lines *ridgeMap) []Ellipse {
	type graded struct {
		Ellipse
		grade float64 // longer is better while the line goes on
	}
	var all []graded
	for a := s.inner; a <= s.outer; a += 3 * lines.k {
		if e, share := s.best(lines, a); share > 0 {
			all = append(all, graded{e, (share - 0.4) * (a - 0.9*s.hole.R)})
		}
	}
	slices.SortStableFunc(all, func(a, b graded) int { return cmp.Compare(b.grade, a.grade) })
	var found []Ellipse
	for _, g := range all[:min(5, len(all))] {
		found = append(found, g.Ellipse)
	}
	return found
}

// best returns the ellipse of the given long axis with the largest share of
// points on a line. The share on an ellipse half as wide is taken off: a bar
// would fill both.
func (s ringSearch) best(lines *ridgeMap, a float64) (best Ellipse, share float64) {
	hole := Circle{s.hole.X, s.hole.Y, s.hole.R + 2*lines.k}
	offsets, inner := make([]Point, 36), make([]Point, 36)
	for _, q := range []float64{0.09, 0.15, 0.21, 0.28, 0.36, 0.45, 0.56} {
		for angle := 0.0; angle < 180; angle += 5 {
			e, f := Ellipse{A: a, B: q * a, Angle: angle}, Ellipse{A: 0.9 * a, B: 0.5 * q * a, Angle: angle}
			for i := range offsets {
				t := 360 * float64(i) / float64(len(offsets))
				offsets[i], inner[i] = e.At(t), f.At(t)
			}
			for dy := -s.shift; dy <= s.shift; dy += 3 * lines.k {
				for dx := -s.shift; dx <= s.shift; dx += 3 * lines.k {
					x, y := s.start.X+dx, s.start.Y+dy
					v := lines.share(x, y, offsets, hole, max(0.4, share))
					if v <= share {
						continue
					}
					if v -= lines.share(x, y, inner, hole, 0); v > share {
						share, best = v, Ellipse{x, y, a, q * a, angle}
					}
				}
			}
		}
	}
	return best, share
}

// ridgeMap tells where bright lines run, 0 to 1, on a shrunken part of a film.
type ridgeMap struct {
	patch
	k float64 // px of the film per cell
}

// share returns the mean of m at the offsets from (x, y) that lie outside the
// hole, and 0 once it cannot reach least.
func (m *ridgeMap) share(x, y float64, offsets []Point, hole Circle, least float64) float64 {
	var sum, missed float64
	n, most := 0, float64(len(offsets))*(1-least)
	for _, o := range offsets {
		px, py := x+o.X, y+o.Y
		hx, hy := px-hole.X, py-hole.Y
		if hx*hx+hy*hy < hole.R*hole.R {
			continue
		}
		n++
		var v float64
		i, j := int((px-float64(m.x0))/m.k), int((py-float64(m.y0))/m.k)
		if i >= 0 && j >= 0 && i < m.w && j < m.h && px > float64(m.x0) && py > float64(m.y0) {
			v = float64(m.v[j*m.w+i])
		}
		sum += v
		if missed += 1 - v; missed > most {
			return 0
		}
	}
	if n < len(offsets)/3 {
		return 0
	}
	return sum / float64(n)
}

// ridges returns the map of bright lines some 4 cells wide: the largest
// downward curvature at a cell, in units of what one cell in ten exceeds, spread
// over the neighbouring cells.
func ridges(film *patch, k float64) ridgeMap {
	m := ridgeMap{patch{x0: film.x0, y0: film.y0, w: int(float64(film.w) / k), h: int(float64(film.h) / k)}, k}
	m.v = make([]float32, m.w*m.h)
	for y := range m.h {
		for x := range m.w {
			v, _ := film.at(float64(film.x0)+(float64(x)+0.5)*k, float64(film.y0)+(float64(y)+0.5)*k)
			m.v[y*m.w+x] = float32(v)
		}
	}
	m.smooth()
	m.smooth()
	bend := make([]float32, len(m.v))
	all := make([]float32, 0, len(m.v))
	const d = 2 // cells, half of a line and its shoulders
	for y := d; y < m.h-d; y++ {
		for x := d; x < m.w-d; x++ {
			i := y*m.w + x
			c := 2 * m.v[i]
			xx := m.v[i-d] + m.v[i+d] - c
			yy := m.v[i-d*m.w] + m.v[i+d*m.w] - c
			xy := (m.v[i-d*m.w-d] + m.v[i+d*m.w+d] - m.v[i-d*m.w+d] - m.v[i+d*m.w-d]) / 4
			r := float32(math.Sqrt(float64((xx-yy)*(xx-yy)/4 + xy*xy)))
			low, high := (xx+yy)/2-r, (xx+yy)/2+r
			if b := -low - max(0, -high) - max(0, high); b > 0 {
				bend[i] = b
				all = append(all, b)
			}
		}
	}
	clear(m.v)
	if len(all) == 0 {
		return m
	}
	slices.Sort(all)
	limit := all[len(all)*9/10]
	for y := 1; y < m.h-1; y++ {
		for x := 1; x < m.w-1; x++ {
			i := y*m.w + x
			b := max(bend[i], bend[i-1], bend[i+1], bend[i-m.w], bend[i+m.w])
			m.v[i] = min(1, b/max(limit, 1e-6))
		}
	}
	return m
}

// settleRing brings an ellipse that is right to a few per cent to the sub-pixel
// fit of the wire's centre line.
func settleRing(img *image.Gray16, e Ellipse) (Outline, bool) {
	film := crop(img, e.X, e.Y, 1.25*e.A+8)
	if film.v == nil {
		return Outline{}, false
	}
	width := max(1.2, e.A/40) // half of a wire of 1.2 mm on a ring of 48 mm
	n := max(120, min(int(4*e.A), 720))
	var edges []Edge
	var f ellipseFit
	for _, reach := range []float64{4 * width, 2.5 * width, 2 * width} {
		var points []Point
		var t []float64
		edges, points, t = crests(&film, e, n, reach, width)
		weights := make([]float64, len(points))
		scale := reach
		for pass := range 4 {
			for i, edge := range edges {
				weights[i] = 0
				if edge.Reject != "" {
					continue
				}
				d := edge.Residual
				if pass > 0 {
					d = f.residuals[i]
				}
				if u := d / scale; math.Abs(u) < 1 {
					weights[i] = (1 - u*u) * (1 - u*u)
				}
			}
			var ok bool
			if f, ok = fitEllipse(points, t, weights, e); !ok {
				return Outline{}, false
			}
			scale = max(0.3, 4.7*spreadOf(f.residuals, weights))
		}
		for i := range edges {
			edges[i].Residual = f.residuals[i]
			if edges[i].Reject == "" && weights[i] == 0 {
				edges[i].Reject = rejectOther
			}
		}
		e = f.Ellipse
	}
	return ringOutline(f, edges), true
}

// spreadOf returns a robust standard deviation of the residuals that count.
func spreadOf(residuals, weights []float64) float64 {
	var d []float64
	for i, r := range residuals {
		if weights[i] > 0 {
			d = append(d, math.Abs(r))
		}
	}
	return 1.4826 * median(d)
}

// crests finds the brightest line across each of n normals of e.
func crests(film *patch, e Ellipse, n int, reach, width float64) (edges []Edge, points []Point, t []float64) {
	edges = make([]Edge, n)
	m := 2*int(math.Ceil(reach/step)) + 1
	half := int(math.Ceil(2.5 * width / step))
	kernel := crestKernel(width, half)
	profile := make([]float64, m+2*half)
	bend := make([]float64, m)
	heights := make([]float64, 0, n)
	height := make([]float64, n)
	for i := range edges {
		at := 360 * float64(i) / float64(n)
		p, normal := e.frame(at)
		t = append(t, at)
		edge := &edges[i]
		edge.Point, edge.Reject = p, rejectNone
		if !along(film, p, normal, profile) {
			edge.Reject = rejectOff
		} else if d, h, ok := crest(profile, kernel, bend); ok {
			edge.Point = Point{p.X + d*normal.X, p.Y + d*normal.Y}
			edge.Residual, edge.Reject, height[i] = d, "", h
			heights = append(heights, h)
		}
		edge.Angle = math.Mod(math.Atan2(edge.Y-e.Y, edge.X-e.X)*180/math.Pi+360, 360)
	}
	least := 0.3 * median(heights)
	for i := range edges {
		if edges[i].Reject == "" && height[i] < least {
			edges[i].Reject = rejectNone
		}
		points = append(points, edges[i].Point)
	}
	return edges, points, t
}

// along samples the profile through p along the unit vector u, centred on p.
func along(film *patch, p, u Point, profile []float64) bool {
	mid := len(profile) / 2
	for j := range profile {
		d := step * float64(j-mid)
		v, ok := film.at(p.X+d*u.X, p.Y+d*u.Y)
		if !ok {
			return false
		}
		profile[j] = v
	}
	return true
}

// crest returns the place of the profile's strongest downward curvature, from
// its middle.
func crest(profile, kernel, bend []float64) (at, height float64, ok bool) {
	for j := range bend {
		bend[j] = 0
		for k, w := range kernel {
			bend[j] += w * profile[j+k]
		}
	}
	best := 0
	for j := 1; j+1 < len(bend); j++ {
		if bend[j] > 0 && bend[j] >= bend[j-1] && bend[j] > bend[j+1] && (best == 0 || bend[j] > bend[best]) {
			best = j
		}
	}
	if best == 0 {
		return 0, 0, false
	}
	a, b, c := bend[best-1], bend[best], bend[best+1]
	shift := 0.5 * (a - c) / (a - 2*b + c)
	return step * (float64(best-len(bend)/2) + shift), b, true
}

// crestKernel returns minus the second derivative of a Gaussian, with sum zero.
func crestKernel(sigma float64, half int) []float64 {
	k := make([]float64, 2*half+1)
	var sum float64
	for i := range k {
		x := step * float64(i-half) / sigma
		k[i] = (1 - x*x) * math.Exp(-x*x/2)
		sum += k[i]
	}
	for i := range k {
		k[i] -= sum / float64(len(k))
	}
	return k
}

// ringOutline reports an ellipse as the circle about its centre over its long
// axis. Residuals are distances to the ellipse.
func ringOutline(f ellipseFit, edges []Edge) Outline {
	o := Outline{Edges: edges, Ring: f.Ellipse}
	o.Ring.Angle = math.Mod(math.Mod(o.Ring.Angle, 180)+180, 180)
	o.Circle, o.Cov = Circle{f.X, f.Y, f.A}, f.cov
	var sum float64
	for _, e := range edges {
		if e.Reject == "" {
			o.Points = append(o.Points, e.Point)
			o.Residuals = append(o.Residuals, e.Residual)
			sum += e.Residual * e.Residual
		}
	}
	o.Arc = 360 * float64(len(o.Points)) / float64(len(edges))
	o.RMS = math.Sqrt(sum / float64(max(1, len(o.Points))))
	inflate(&o.CircleFit, edges)
	return o
}
