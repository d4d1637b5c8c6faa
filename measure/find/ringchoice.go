package find

import (
	"image"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// newModel returns a model on a map that ends its descents at steps below fine
// cells.
func (s ringSearch) newModel(m *ringMap, fine float64, steps int) *ringModel {
	return &ringModel{
		m: m, ringPicture: ringPicture{w: m.w, h: m.h},
		center: s.start.Center(), hole: s.hole, shift: 1.3 * s.shift, inner: 0.95 * s.inner, outer: 1.05 * s.outer,
		fine: fine, steps: steps,
	}
}

// weight is what a match counts in the choice between matches.
func (k ringMatch) weight() float64 { return k.explains * k.share }

// starts returns ellipses that explain much of the coarse map, the best first:
// those given, and along each thin one others with other ends and widths.
func (s ringSearch) starts(m *ringMap, given []measure.Ellipse, most int) []measure.Ellipse {
	unit := s.start.R / 27 // about a mm
	coarse := m.coarse(s)
	blur := max(1, 1.05*unit/coarse.k)
	pool := make([][]found, len(given))
	film.InBands(len(given), func(from, to int) {
		r := s.newModel(coarse, 0.02, 10)
		for i := from; i < to; i++ {
			pool[i] = s.around(r, given, i, unit, blur)
		}
	})
	var all []found
	for _, p := range pool {
		all = append(all, apart(p, 3, 0.7*unit)...)
	}
	all = apart(all, 2*most, 0.7*unit)
	film.InBands(len(all), func(from, to int) {
		r := s.newModel(coarse, 0.02, 10)
		for i := from; i < to; i++ {
			k, _ := r.descend(coarse.theta(all[i].Ellipse, blur))
			all[i] = found{coarse.ellipse(k.theta), k.weight()}
		}
	})
	var out []measure.Ellipse
	for _, f := range apart(all, most, 0.3*unit) {
		out = append(out, f.Ellipse)
	}
	return out
}

// around matches the ellipse i of those given and, where it is thin and none
// before it lies on the same line, others along its line.
func (s ringSearch) around(r *ringModel, given []measure.Ellipse, i int, unit, blur float64) (all []found) {
	try := func(e measure.Ellipse) {
		if k := r.match(r.m.theta(e, blur), false); k.explains > 0 {
			all = append(all, found{e, k.weight()})
		}
	}
	e := given[i]
	try(e)
	if e.B > 0.25*e.A {
		return all
	}
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	for _, f := range given[:i] {
		turn := math.Abs(math.Mod(e.Angle-f.Angle+270, 180) - 90)
		if f.B <= 0.25*f.A && turn < 4 && math.Abs((f.X-e.X)*sin-(f.Y-e.Y)*cos) < 1.2*unit {
			return all
		}
	}
	along := (s.start.X-e.X)*cos + (s.start.Y-e.Y)*sin
	for _, q := range []float64{0.03, 0.1, 0.17} {
		for a := s.inner; a <= s.outer; a += unit {
			for d := along - s.shift; d <= along+s.shift; d += unit {
				try(measure.Ellipse{X: e.X + d*cos, Y: e.Y + d*sin, A: a, B: q * a, Angle: e.Angle})
			}
		}
	}
	return all
}

// line is the blur, in cells of m, at which a wire is looked for.
func (s ringSearch) line(m *ringMap) float64 { return max(1, 0.5*s.start.R/27/m.k) }

// model returns the ellipse near one of the starts whose picture explains most of
// the map.
func (s ringSearch) model(m *ringMap, starts []measure.Ellipse) (best ringMatch, cov [5][5]float64) {
	matches, models := make([]ringMatch, len(starts)), make([]*ringModel, len(starts))
	film.InBands(len(starts), func(from, to int) {
		for i := from; i < to; i++ {
			models[i] = s.newModel(m, 0.004, 15)
			if k, ok := models[i].descend(m.theta(starts[i], s.line(m))); ok {
				matches[i] = k
			}
		}
	})
	var r *ringModel
	for i, k := range matches {
		if k.weight() > best.weight() {
			best, r = k, models[i]
		}
	}
	if r == nil {
		return best, cov
	}
	return s.ended(r, best)
}

// ended returns a match, or a better one with other ends, and its covariance.
func (s ringSearch) ended(r *ringModel, best ringMatch) (ringMatch, [5][5]float64) {
	for range 3 {
		if best.share > 0.85 {
			break
		}
		k, ok := r.descend(r.ends(best, s.start.R/27/r.m.k))
		if !ok || k.weight() <= best.weight() {
			break
		}
		best = k
	}
	cov, ok := r.covariance(best)
	if !ok {
		return ringMatch{}, cov
	}
	return best, cov
}

// ends returns the best theta with either end of the long axis moved by some
// units: the cement's edge goes on where the wire ends.
func (r *ringModel) ends(k ringMatch, unit float64) ringTheta {
	best := k
	sin, cos := math.Sincos(k.theta[4])
	moves := []float64{-4.8, -3.6, -2.4, -1.2, 0, 1.2, 2.4}
	for _, left := range moves {
		for _, right := range moves {
			t := k.theta
			t[2] += (left + right) / 2 * unit
			d := (right - left) / 2 * unit
			t[0], t[1] = t[0]+d*cos, t[1]+d*sin
			if other := r.match(t, false); (left != 0 || right != 0) && (best.explains == k.explains || other.weight() > best.weight()) {
				best = other
			}
		}
	}
	return best.theta
}

// ringShare is the least share of the sum of squares around a ring that its
// picture must explain. On phantom films rings have 0.75 to 0.93, lines that are
// none, or that go on beyond the ring, 0.64 or less.
const ringShare = 0.7

// outline reports a match as an outline; its edges are the crests near the
// ellipse.
func (s ringSearch) outline(img *image.Gray16, m *ringMap, k ringMatch, cov [5][5]float64) (o measure.Outline, ok bool) {
	e := m.ellipse(k.theta)
	patch, edges, _ := crestsOf(e, img)
	if patch.V == nil {
		return o, false
	}
	return m.outline(e, cov, edges)
}

// crestsOf returns the crests within reach of a ring, and the film around it, empty
// where the ring is off the film.
func crestsOf(e measure.Ellipse, img *image.Gray16) (patch film.Patch, edges []measure.Edge, reach float64) {
	width, n := wireOf(e)
	reach = 1.5 * width
	if patch = film.Crop(img, e.X, e.Y, 1.25*e.A+12); patch.V != nil {
		edges = crests(&patch, e, n, reach, width)
	}
	return patch, edges, reach
}

// outline reports an ellipse with a covariance in cells.
func (m *ringMap) outline(e measure.Ellipse, cov [5][5]float64, edges []measure.Edge) (o measure.Outline, ok bool) {
	for i := range edges {
		if x, y := int((edges[i].X-m.x0)/m.k), int((edges[i].Y-m.y0)/m.k); x < 0 || y < 0 || x >= m.w || y >= m.h || m.hidden[y*m.w+x] {
			edges[i].Reject = rejectNeck
		}
	}
	for i := range cov { // to px, but for the angle
		for j := range cov[i] {
			if i < 4 {
				cov[i][j] *= m.k
			}
			if j < 4 {
				cov[i][j] *= m.k
			}
		}
	}
	o = ringOutline(measure.EllipseFit{Ellipse: e, Cov: cov}, edges)
	return o, len(o.Points) > 0
}

// settled is clearer for a match beside which there are no seeds: the crests are
// those within reach of it.
func (s ringSearch) settled(img *image.Gray16, m *ringMap, k ringMatch, cov [5][5]float64) (best measure.Outline, ok bool) {
	e := m.ellipse(k.theta)
	patch, edges, reach := crestsOf(e, img)
	if patch.V == nil {
		return best, false
	}
	best, ok = m.outline(e, cov, slices.Clone(edges))
	if e.B >= 0.1*e.A {
		o, fits := crestRing(edges, e, reach)
		if fits && s.ringLike(o) &&
			s.newModel(m, 0, 0).match(m.theta(o.Ring, s.line(m)), false).weight() > 0.95*k.weight() {
			best, ok = o, true
		}
	}
	show(&best, &patch)
	return best, ok
}
