package find

import (
	"cmp"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// found is an ellipse on the film that may be a ring's.
type found struct {
	measure.Ellipse
	grade float64
}

// Shares of the sum of squares around a ring that its picture explains; tried by .ci/vary.
const (
	seedShare  = 0.4  // of what is worth a descent
	clearShare = 0.85 // of what needs no other start
)

// seek returns up to two ellipses that may be the ring, the likeliest first.
func (s ringSearch) seek(m *ringMap) []measure.Ellipse {
	round, thin := m.coarse(s).diameters(s)
	fine, wide := m.trace(wireBlur*s.mm/m.k), m.trace(2*wireBlur*s.mm/m.k)
	var pool, lines []found
	film.Both(func() { lines = s.uphill(wide, s.lines(thin, wide)) }, func() {
		// An edge of bone passes for thin ones at many places along it.
		all := s.rounds(round, wide)
		flat := func(f found) bool { return f.B < thinMM*s.mm }
		pool = apart(slices.DeleteFunc(slices.Clone(all), flat), 12, 0.6*s.mm)
		pool = append(pool, apart(slices.DeleteFunc(all, func(f found) bool { return !flat(f) }), 6, 0.6*s.mm)...)
	})
	return s.likeliest(m, fine, append(pool, lines...))
}

// seekNear is seek for a ring that is about as large, as wide and turned as e, and not
// far from there.
func (s ringSearch) seekNear(m *ringMap, e measure.Ellipse) []measure.Ellipse {
	fine, wide := m.trace(wireBlur*s.mm/m.k), m.trace(2*wireBlur*s.mm/m.k)
	var pool []found
	n := int(s.shift / s.mm)
	for i := range (2*n + 1) * (2*n + 1) * 27 {
		f, d := e, 2*s.mm
		place, shape := i/27, i%27
		f.X, f.Y = f.X+float64(place%(2*n+1)-n)*s.mm, f.Y+float64(place/(2*n+1)-n)*s.mm
		f.A += float64(shape%3-1) * d
		f.B = max(0, e.B*f.A/e.A+float64(shape/3%3-1)*d)
		f.Angle += float64(shape/9-1) * d / e.A * 180 / math.Pi
		pool = append(pool, found{f, wide.weigh(f)})
	}
	return s.likeliest(m, fine, s.uphill(wide, pool))
}

// uphill returns what the best of a pool lead to.
func (s ringSearch) uphill(t ringTrace, pool []found) []found {
	pool = apart(pool, 24, 0.4*s.mm)
	for i, f := range pool {
		pool[i] = s.climb(t, f, 1, 0.3)
	}
	return apart(pool, 12, 0.3*s.mm)
}

// likeliest returns the two ellipses of a pool that explain most, of those whose
// picture explains hardly less of the film around it than the best one's.
func (s ringSearch) likeliest(m *ringMap, t ringTrace, pool []found) (out []measure.Ellipse) {
	shares := make([]float64, len(pool))
	film.InBands(len(pool), func(from, to int) {
		r := s.newModel(m)
		for i := from; i < to; i++ {
			f := s.climb(t, pool[i], 0.6, 0.1)
			k := r.match(m.theta(f.Ellipse, t.blur))
			pool[i], shares[i] = found{f.Ellipse, k.weight()}, k.share
		}
	})
	least := max(seedShare, 0.75*slices.Max(append(shares, 0)))
	for i := range pool {
		if shares[i] < least {
			pool[i].grade = 0
		}
	}
	for _, f := range apart(pool, 2, 0.3*s.mm) {
		out = append(out, f.Ellipse)
	}
	return out
}

// rounds returns the ellipses through any two diameters, from left to right, about one
// centre.
func (s ringSearch) rounds(all []diameter, t ringTrace) (pool []found) {
	near := 1.2 * s.mm
	seen := map[[5]int16]bool{} // to within some mm
	terms := make([]equations, len(all))
	for j := range all {
		terms[j] = all[j].equations()
	}
	for i := range all {
		p := &all[i]
		for j := i + 1; j < len(all) && all[j].x-p.x <= near; j++ {
			q := &all[j]
			if (p.x-q.x)*(p.x-q.x)+(p.y-q.y)*(p.y-q.y) > near*near {
				continue
			}
			e, ok := s.conic(p, q, &terms[i], &terms[j], 0.5)
			if !ok {
				continue
			}
			var key [5]int16
			for k, v := range [5]float64{e.X, e.Y, e.A, e.B, e.A * e.Angle * math.Pi / 180} {
				key[k] = int16(v / (0.8 * s.mm))
			}
			if !seen[key] && s.allows(e, 0.5) {
				seen[key] = true
				pool = append(pool, found{e, t.weigh(e)})
			}
		}
	}
	return pool
}

// lines returns thin ellipses along each line on which a diameter lies.
func (s ringSearch) lines(all []diameter, t ringTrace) (pool []found) {
	var seen []diameter
	for _, p := range all {
		long := math.Hypot(p.dx, p.dy)
		if slices.ContainsFunc(seen, func(q diameter) bool {
			far := math.Hypot(q.dx, q.dy)
			return math.Abs((p.x-q.x)*q.dy-(p.y-q.y)*q.dx) < 0.6*s.mm*far && math.Abs(p.dx*q.dy-p.dy*q.dx) < 0.05*long*far
		}) {
			continue
		}
		seen = append(seen, p)
		pool = append(pool, s.along(p, t)...)
	}
	return pool
}

// sized reports whether an ellipse is as large and round as is looked for, by some mm.
func (s ringSearch) sized(e measure.Ellipse, by float64) bool {
	by *= s.mm
	return e.A >= s.inner-by && e.A <= s.outer+by && e.B <= 0.66*e.A+by
}

// allows reports whether an ellipse has a size, shape and place that is looked for, by
// some mm. Both ends must be seen, or the long axis is not known.
func (s ringSearch) allows(e measure.Ellipse, by float64) bool {
	return s.sized(e, by) && s.crosses(math.Mod(e.Angle+360, 180)) &&
		e.Center().Distance(s.start) <= s.shift+by*s.mm &&
		s.hole.Distance(e.At(0)) >= 1.6*s.mm && s.hole.Distance(e.At(180)) >= 1.6*s.mm
}

// along returns the thin ellipses on the line of a diameter that explain most.
func (s ringSearch) along(p diameter, t ringTrace) (all []found) {
	angle := math.Atan2(p.dy, p.dx)
	sin, cos := math.Sincos(angle)
	mid := (s.start.X-p.x)*cos + (s.start.Y-p.y)*sin
	const step = 1.5 // mm
	for _, side := range []float64{-0.4, 0.4} {
		x, y := p.x-side*s.mm*sin, p.y+side*s.mm*cos
		for a := s.inner; a <= s.outer; a += step * s.mm {
			for d := mid - s.shift; d <= mid+s.shift; d += step * s.mm {
				for _, q := range []float64{0.03, 0.1} {
					e := measure.Ellipse{X: x + d*cos, Y: y + d*sin, A: a, B: q * a, Angle: math.Mod(angle*180/math.Pi+360, 180)}
					if !s.allows(e, 0) {
						break
					}
					all = append(all, found{e, t.weigh(e)})
				}
			}
		}
	}
	return apart(all, 2, 1.2*s.mm)
}

// climbs are the ways in which an ellipse is changed: moved along its axes, made longer
// or wider, turned; one end moved alone, or one side.
var climbs = [9][5]float64{
	{1}, {0, 1}, {0, 0, 1}, {0, 0, 0, 1}, {0, 0, 0, 0, 1},
	{0.5, 0, 0.5}, {-0.5, 0, 0.5}, {0, 0.5, 0, 0.5}, {0, -0.5, 0, 0.5},
}

// climb improves an ellipse in one way after the other in shrinking steps.
func (s ringSearch) climb(t ringTrace, f found, from, to float64) found {
	f.grade = t.weigh(f.Ellipse)
	const tries = 2 * len(climbs)
	for step := from * s.mm; step > to*s.mm; step /= 2 {
		for n, failed := 0, 0; n < 4*tries && failed < tries; n++ {
			way, d := &climbs[n/2%len(climbs)], step
			if n%2 == 0 {
				d = -step
			}
			e := f.Ellipse
			sin, cos := math.Sincos(e.Angle * math.Pi / 180)
			e.X, e.Y = e.X+d*(way[0]*cos-way[1]*sin), e.Y+d*(way[0]*sin+way[1]*cos)
			e.A, e.B = e.A+d*way[2], max(0, e.B+d*way[3])
			e.Angle += d * way[4] / e.A * 180 / math.Pi
			failed++
			if w := t.weigh(e); w > f.grade && s.allows(e, 0.5) {
				f, failed = found{e, w}, 0
			}
		}
	}
	return f
}

// ringTrace tells in a few looks what the picture of a ring would explain of a map.
type ringTrace struct {
	*ringMap
	blur  float64   // of the picture, cells
	line  []float32 // by cell, the product of the map with the picture of a spot there
	power []float32 // the mean of the squares of the map around, below zero where it is hidden
}

func (m *ringMap) trace(blur float64) ringTrace {
	line, power := film.Patch{W: m.W, H: m.H, V: make([]float32, len(m.bend))}, film.Patch{W: m.W, H: m.H, V: make([]float32, len(m.bend))}
	for i, v := range m.bend {
		if !m.hidden[i] {
			v = max(-m.most, min(m.most, v))
			line.V[i], power.V[i] = v, v*v
		}
	}
	line.Blur(blur)
	power.Blur(blur)
	for i, hidden := range m.hidden {
		if hidden {
			power.V[i] = -1
		}
	}
	return ringTrace{m, blur, line.Bend(), power.V}
}

// weigh returns about what the match of an ellipse on the film would count.
func (t *ringTrace) weigh(e measure.Ellipse) float64 {
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	x, y, a, b := (e.X-t.corner.X)/t.k, (e.Y-t.corner.Y)/t.k, e.A/t.k, e.B/t.k
	apart := 2 * b / t.blur * 2 * b / t.blur * overlapSteps
	var product, squares, power float64
	seen := 0
	for i := range ringTurns {
		u := &ringTurns[i]
		h := u[1]*u[1] + b/a*b/a*u[0]*u[0]
		w := h / (h + ringFloor*ringFloor)
		ax, ay, bx, by := a*u[0]*cos, a*u[0]*sin, -b*u[1]*sin, b*u[1]*cos
		n, line := 0, 0.0
		dx, dy := ax+bx, ay+by
		for quarter := range 4 {
			px, py := x+dx, y+dy
			if quarter == 1 {
				dx, dy = ax-bx, ay-by
			} else {
				dx, dy = -dx, -dy
			}
			if !(px >= 0 && py >= 0 && px < float64(t.W) && py < float64(t.H)) {
				continue
			}
			if i := int(py)*t.W + int(px); t.power[i] >= 0 {
				n++
				line, power = line+float64(t.line[i]), power+float64(t.power[i])
			}
		}
		if n == 0 {
			continue
		}
		seen += n
		product += math.Sqrt(w) * line
		if d := int(apart * u[1] * u[1]); d < len(overlaps) {
			w += w * overlaps[d]
		}
		squares += float64(n) * w
	}
	if seen < ringPoints/4 || product <= 0 || power <= 0 {
		return 0
	}
	explains := product * product / squares
	return explains * explains / power
}

// overlaps are the products of the pictures of two lines, as shares of one line's with
// itself, by the square of how many blurs they lie apart.
var overlaps = func() (all [30 * overlapSteps]float64) {
	for i := range all {
		d := (float64(i) + 0.5) / overlapSteps
		all[i] = (1 - d + d*d/12) * math.Exp(-d/4)
	}
	return all
}()

const overlapSteps = 8

// ringPoints is the number of points of an ellipse that are looked at; tried by .ci/vary.
const ringPoints = 48

// ringTurns are the cosines and sines of a quarter of them.
var ringTurns = func() (all [ringPoints / 4][2]float64) {
	for i := range all {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / ringPoints)
		all[i] = [2]float64{cos, sin}
	}
	return all
}()

// apart returns the best of all of which no two lie closer than 2 d anywhere.
func apart(all []found, most int, d float64) (kept []found) {
	slices.SortFunc(all, func(a, b found) int { return cmp.Compare(b.grade, a.grade) })
	for _, f := range all {
		near := func(g found) bool {
			return ringsApart(f.Ellipse, g.Ellipse) < 2*d
		}
		if f.grade > 0 && !slices.ContainsFunc(kept, near) {
			if kept = append(kept, f); len(kept) == most {
				break
			}
		}
	}
	return kept
}
