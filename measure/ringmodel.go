package measure

import (
	"image"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ringModel fits the picture of a whole wire ring to the Laplacian of a film:
// both lines together where they merge, and the bright ends where the rays run
// along the wire. What is hidden by wide metal does not count. Lengths are in
// cells of the map.
type ringModel struct {
	m    *ringMap
	a, b []float64 // pictures: a line of even brightness, and one as bright as the ray's way in it

	center       Point // what is allowed, px of the film
	hole         Circle
	shift        float64
	inner, outer float64
	fine         float64 // a descent ends at steps below this, cells
	steps        int
}

// ringTheta is centre, half axes, angle (radians) and the blur of the line.
type ringTheta [6]float64

func (m *ringMap) theta(e Ellipse, blur float64) ringTheta {
	return ringTheta{(e.X - m.x0) / m.k, (e.Y - m.y0) / m.k, e.A / m.k, e.B / m.k, e.Angle * math.Pi / 180, blur}
}

func (m *ringMap) ellipse(t ringTheta) Ellipse {
	return Ellipse{m.x0 + t[0]*m.k, m.y0 + t[1]*m.k, t[2] * m.k, math.Abs(t[3]) * m.k, t[4] * 180 / math.Pi}
}

// ringFloor keeps the ray's way along the wire from growing without end: some
// share of the ring's radius, by the wire's width.
const ringFloor = 0.15

// draw fills the pictures for t.
func (r *ringModel) draw(t ringTheta) {
	m := r.m
	clear(r.a)
	clear(r.b)
	half := int(math.Ceil(3 * t[5]))
	n := 4 * int(math.Ceil(t[2]*math.Pi/2)) // steps of one cell at most
	s, c := math.Sincos(t[4])
	q := t[3] / t[2]
	inv := 1 / (t[5] * t[5])
	column, square := make([]float64, 2*half+1), make([]float64, 2*half+1)
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / float64(n))
		x, y := t[0]+t[2]*cos*c-t[3]*sin*s, t[1]+t[2]*cos*s+t[3]*sin*c
		ix, iy := int(math.Floor(x))-half, int(math.Floor(y))-half
		if ix < 0 || iy < 0 || ix+2*half >= m.w || iy+2*half >= m.h {
			continue
		}
		even := math.Sqrt(sin*sin + q*q*cos*cos)
		seen := even / math.Hypot(even, ringFloor)
		for k := range column {
			d := float64(ix+k) + 0.5 - x
			square[k] = d * d * inv
			column[k] = math.Exp(-square[k] / 2)
		}
		for j := range 2*half + 1 {
			d := float64(iy+j) + 0.5 - y
			d *= d * inv
			g := math.Exp(-d / 2)
			a, b := r.a[(iy+j)*m.w+ix:], r.b[(iy+j)*m.w+ix:]
			for k, e := range column {
				v := (2 - d - square[k]) * g * e
				a[k] += even * v
				b[k] += seen * v
			}
		}
	}
}

// ringMatch is how the pictures for one theta match the film.
type ringMatch struct {
	theta    ringTheta
	gain     [2]float64
	explains float64 // sum of squares
	share    float64 // of the sum of squares near the ring
	cells    []int   // near the ring and not hidden
}

// match finds the gains of the pictures for t.
func (r *ringModel) match(t ringTheta, keep bool) (k ringMatch) {
	k.theta = t
	e := r.m.ellipse(t)
	if !(e.A >= r.inner && e.A <= r.outer && t[3] >= 0 && t[3] <= 0.75*t[2] && math.Hypot(e.X-r.center.X, e.Y-r.center.Y) <= r.shift) {
		return k
	}
	// Both ends must be seen, or the long axis is not known.
	if r.hole.Distance(e.At(0)) < 0.12*r.hole.R || r.hole.Distance(e.At(180)) < 0.12*r.hole.R {
		return k
	}
	r.draw(t)
	var aa, ab, bb, fa, fb, ff float64
	for i, a := range r.a {
		if a == 0 || r.m.hidden[i] {
			continue
		}
		b, f := r.b[i], float64(r.m.bend[i])
		aa, ab, bb, fa, fb = aa+a*a, ab+a*b, bb+b*b, fa+f*a, fb+f*b
		ff += f * f
		if keep {
			k.cells = append(k.cells, i)
		}
	}
	if aa == 0 || ff == 0 {
		return k
	}
	bb *= 1.0001 // the pictures of a round ring are alike
	aa *= 1.0001
	det := aa*bb - ab*ab
	k.gain = [2]float64{(fa*bb - fb*ab) / det, (fb*aa - fa*ab) / det}
	switch {
	case k.gain[0] < 0:
		k.gain = [2]float64{0, max(0, fb/bb)}
	case k.gain[1] < 0:
		k.gain = [2]float64{max(0, fa/aa), 0}
	}
	k.explains = k.gain[0]*fa + k.gain[1]*fb
	k.share = k.explains / ff
	return k
}

// descend improves a match by Levenberg and Marquardt's method, the gains solved
// for at each step (Kaufman L. BIT 1975;15:49-57), and returns the covariance of
// centre and long axis in cells squared.
func (r *ringModel) descend(t ringTheta) (best ringMatch, cov [3][3]float64, ok bool) {
	best = r.match(t, true)
	damp := 0.01
	for range r.steps {
		if best.explains <= 0 {
			return best, cov, false
		}
		normal, g := r.normal(best)
		for i := range g {
			normal.SetSym(i, i, normal.At(i, i)*(1+damp))
		}
		var chol mat.Cholesky
		if !chol.Factorize(normal) {
			return best, cov, false
		}
		var step mat.VecDense
		if chol.SolveVecTo(&step, mat.NewVecDense(len(g), g[:])) != nil {
			return best, cov, false
		}
		next := best.theta
		size := 0.0
		for i := range next {
			d := max(-1, min(1, step.AtVec(i)))
			if i == 4 {
				d = max(-0.03, min(0.03, step.AtVec(i)))
			}
			next[i] += d
			if i < 3 {
				size = max(size, math.Abs(d))
			}
		}
		next[3], next[5] = math.Abs(next[3]), max(0.8*t[5], min(1.35*t[5], next[5]))
		k := r.match(next, true)
		if k.explains <= best.explains {
			if damp *= 8; damp > 1e3 || size < r.fine {
				break
			}
			continue
		}
		best = k
		damp = max(1e-6, damp/5)
		if size < r.fine {
			break
		}
	}
	cov, ok = r.covariance(best)
	return best, cov, ok
}

// normal returns the matrix and the right side of the normal equations.
func (r *ringModel) normal(k ringMatch) (*mat.SymDense, [6]float64) {
	r.draw(k.theta)
	n := len(k.cells)
	a, b, rest := make([]float64, n), make([]float64, n), make([]float64, n)
	var aa, ab, bb float64
	for i, c := range k.cells {
		a[i], b[i] = r.a[c], r.b[c]
		rest[i] = float64(r.m.bend[c]) - k.gain[0]*a[i] - k.gain[1]*b[i]
		aa, ab, bb = aa+a[i]*a[i], ab+a[i]*b[i], bb+b[i]*b[i]
	}
	aa, bb = 1.0001*aa, 1.0001*bb
	det := aa*bb - ab*ab
	var columns [6][]float64
	for p := range columns {
		delta := 0.02
		if p == 4 {
			delta = 0.02 / k.theta[2]
		}
		t := k.theta
		t[p] += delta
		r.draw(t)
		d := make([]float64, n)
		var da, db float64
		for i, c := range k.cells {
			d[i] = (k.gain[0]*(r.a[c]-a[i]) + k.gain[1]*(r.b[c]-b[i])) / delta
			da, db = da+d[i]*a[i], db+d[i]*b[i]
		}
		u, v := (da*bb-db*ab)/det, (db*aa-da*ab)/det
		for i := range d {
			d[i] -= u*a[i] + v*b[i]
		}
		columns[p] = d
	}
	m := mat.NewSymDense(6, nil)
	var g [6]float64
	for p := range columns {
		for i, d := range columns[p] {
			g[p] += d * rest[i]
		}
		for q := p; q < 6; q++ {
			var sum float64
			for i, d := range columns[p] {
				sum += d * columns[q][i]
			}
			m.SetSym(p, q, sum)
		}
	}
	return m, g
}

// covariance returns that of centre and long axis: the residuals' variance times
// the cells that one blurred point of noise spreads over.
func (r *ringModel) covariance(k ringMatch) (cov [3][3]float64, ok bool) {
	m, _ := r.normal(k)
	for i := range 6 {
		m.SetSym(i, i, m.At(i, i)*(1+1e-9))
	}
	var chol mat.Cholesky
	var inv mat.SymDense
	if !chol.Factorize(m) || chol.InverseTo(&inv) != nil {
		return cov, false
	}
	total := k.explains / k.share
	variance := (total - k.explains) / float64(len(k.cells)) * 4 * math.Pi * k.theta[5] * k.theta[5]
	for i := range cov {
		for j := range cov[i] {
			cov[i][j] = inv.At(i, j) * variance
		}
	}
	return cov, isFinite(cov[0][0], cov[1][1], cov[2][2])
}

// newModel returns a model on a map that ends its descents at steps below fine
// cells.
func (s ringSearch) newModel(m *ringMap, fine float64, steps int) *ringModel {
	return &ringModel{
		m: m, a: make([]float64, m.w*m.h), b: make([]float64, m.w*m.h),
		center: s.start.Center(), hole: s.hole, shift: 1.3 * s.shift, inner: 0.95 * s.inner, outer: 1.05 * s.outer,
		fine: fine, steps: steps,
	}
}

// weight is what a match counts in the choice between matches.
func (k ringMatch) weight() float64 { return k.explains * k.share }

// starts returns ellipses that explain much of the coarse map, the best first:
// those given, and along each thin one others with other ends and widths.
func (s ringSearch) starts(m *ringMap, given []Ellipse, most int) []Ellipse {
	unit := s.start.R / 27 // about a mm
	blur := max(1, 1.05*unit/m.coarse.k)
	pool := make([][]found, len(given))
	inBands(len(given), func(from, to int) {
		r := s.newModel(m.coarse, 0.02, 10)
		for i := from; i < to; i++ {
			pool[i] = s.around(r, given, i, unit, blur)
		}
	})
	var all []found
	for _, p := range pool {
		all = append(all, apart(p, 3, 0.7*unit)...)
	}
	all = apart(all, 2*most, 0.7*unit)
	inBands(len(all), func(from, to int) {
		r := s.newModel(m.coarse, 0.02, 10)
		for i := from; i < to; i++ {
			k, _, _ := r.descend(m.coarse.theta(all[i].Ellipse, blur))
			all[i] = found{m.coarse.ellipse(k.theta), k.weight()}
		}
	})
	var out []Ellipse
	for _, f := range apart(all, most, 0.3*unit) {
		out = append(out, f.Ellipse)
	}
	return out
}

// around matches the ellipse i of those given and, where it is thin and none
// before it lies on the same line, others along its line.
func (s ringSearch) around(r *ringModel, given []Ellipse, i int, unit, blur float64) (all []found) {
	try := func(e Ellipse) {
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
				try(Ellipse{e.X + d*cos, e.Y + d*sin, a, q * a, e.Angle})
			}
		}
	}
	return all
}

// model returns the ellipse whose picture explains most of the map.
func (s ringSearch) model(m *ringMap, seeds []Ellipse) (best ringMatch, cov [3][3]float64, ok bool) {
	starts := s.starts(m, seeds, 4)
	matches := make([]ringMatch, len(starts))
	covs := make([][3][3]float64, len(starts))
	inBands(len(starts), func(from, to int) {
		r := s.newModel(m, 0.004, 15)
		for i := from; i < to; i++ {
			k, c, settled := r.descend(m.theta(starts[i], max(1, 0.5*s.start.R/27/m.k)))
			if settled {
				matches[i], covs[i] = k, c
			}
		}
	})
	for i, k := range matches {
		if k.weight() > best.weight() {
			best, cov, ok = k, covs[i], true
		}
	}
	if !ok || best.share > 0.85 {
		return best, cov, ok
	}
	r := s.newModel(m, 0.004, 15)
	for range 3 {
		k, c, settled := r.descend(r.ends(best, s.start.R/27/m.k))
		if !settled || k.weight() <= best.weight() {
			break
		}
		best, cov = k, c
	}
	return best, cov, ok
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
func (s ringSearch) outline(img *image.Gray16, m *ringMap, k ringMatch, cov [3][3]float64) (o Outline, ok bool) {
	e := m.ellipse(k.theta)
	film := crop(img, e.X, e.Y, 1.25*e.A+8)
	if film.v == nil {
		return o, false
	}
	width := max(1.2, e.A/40)
	edges, _, _ := crests(&film, e, max(120, min(int(4*e.A), 720)), 1.5*width, width)
	for i := range edges {
		if x, y := int((edges[i].X-m.x0)/m.k), int((edges[i].Y-m.y0)/m.k); x < 0 || y < 0 || x >= m.w || y >= m.h || m.hidden[y*m.w+x] {
			edges[i].Reject = rejectNeck
		}
	}
	o = ringOutline(ellipseFit{Ellipse: e}, edges)
	for i := range cov {
		for j := range cov[i] {
			o.Cov[i][j] = cov[i][j] * m.k * m.k
		}
	}
	return o, len(o.Points) > 0
}
