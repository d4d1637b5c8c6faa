package find

import (
	"cmp"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// crestMap tells how much line there is across each cell of a coarse map.
type crestMap struct {
	*ringMap
	// Twice the deviator of the curvature: across less along a line whose normal has
	// the angle t is c cos 2t + s sin 2t.
	c, s  []float32
	limit float32 // strength of a clear line
}

// crestPoint is a cell on the crest of a line, with the normal of the line.
type crestPoint struct {
	x, y, nx, ny float64 // cells from the map's corner
	height       float32
}

// diameter is two crests on either side of a possible centre, with the same normal.
type diameter struct {
	x, y   float64 // centre, cells
	dx, dy float64 // from there to one of them
	nx, ny float64
}

// found is an ellipse that lines follow.
type found struct {
	measure.Ellipse
	grade float64
}

const (
	mostCrests    = 600
	mostDiameters = 300
)

// crestsOn returns the crests of a coarse map, the highest first.
func (m *ringMap) crestsOn(s ringSearch) (crestMap, []crestPoint) {
	xx, yy, xy := m.smooth.Curvature()
	t := crestMap{ringMap: m, c: xx, s: xy}
	for i := range xx {
		xx[i], xy[i] = yy[i]-xx[i], -2*xy[i]
	}
	strength := yy // no longer needed
	for i := range strength {
		strength[i] = 0
		if m.bend[i] > 0 {
			// Across less the curvature along, whichever its sign.
			strength[i] = min(m.bend[i], float32(math.Hypot(float64(t.c[i]), float64(t.s[i]))))
		}
	}
	var all []crestPoint
	cx, cy, far := (s.start.X-m.x0)/m.k-0.5, (s.start.Y-m.y0)/m.k-0.5, (s.outer+s.shift)/m.k
	for y := 1; y+1 < m.h; y++ {
		for x := 1; x+1 < m.w; x++ {
			i := y*m.w + x
			v := strength[i]
			dx, dy := float64(x)-cx, float64(y)-cy
			if v <= 0 || m.hidden[i] || dx*dx+dy*dy > far*far {
				continue
			}
			turn := math.Atan2(float64(t.s[i]), float64(t.c[i])) / 2
			ny, nx := math.Sincos(turn)
			step := int(math.Round(ny))*m.w + int(math.Round(nx))
			a, b := strength[i-step], strength[i+step]
			if v < a || v <= b {
				continue
			}
			d := 0.0
			if q := float64(a - 2*v + b); q < 0 {
				d = 0.5 * float64(a-b) / q
			}
			all = append(all, crestPoint{float64(x) + 0.5 + d*math.Round(nx), float64(y) + 0.5 + d*math.Round(ny), nx, ny, v})
		}
	}
	slices.SortFunc(all, func(a, b crestPoint) int { return cmp.Compare(b.height, a.height) })
	if len(all) > mostCrests {
		all = all[:mostCrests]
	}
	if len(all) > 0 {
		t.limit = all[min(len(all)-1, 130)].height
	}
	return t, all
}

// diameters returns pairs of crests with one normal, whose middle lies within the
// search's shift of its start, the highest first: some of any kind, and all that lie
// along a line.
func (m *ringMap) diameters(s ringSearch, crests []crestPoint) (round, thin []diameter) {
	at := make([]int32, m.w*m.h) // of the crests so far, which are higher
	cx, cy, shift := (s.start.X-m.x0)/m.k, (s.start.Y-m.y0)/m.k, s.shift/m.k
	for j, p := range crests {
		ox, oy := 2*cx-p.x, 2*cy-p.y
		for y := max(0, int(oy-2*shift)); y <= min(m.h-1, int(oy+2*shift)); y++ {
			for x := max(0, int(ox-2*shift)); x <= min(m.w-1, int(ox+2*shift)); x++ {
				i := at[y*m.w+x]
				if i == 0 {
					continue
				}
				q := crests[i-1]
				dot := p.nx*q.nx + p.ny*q.ny
				d := diameter{x: (p.x + q.x) / 2, y: (p.y + q.y) / 2, dx: (p.x - q.x) / 2, dy: (p.y - q.y) / 2}
				if math.Abs(dot) < 0.94 || (d.x-cx)*(d.x-cx)+(d.y-cy)*(d.y-cy) > shift*shift {
					continue
				}
				d.nx, d.ny = p.nx+math.Copysign(q.nx, q.nx*dot), p.ny+math.Copysign(q.ny, q.ny*dot)
				n := math.Hypot(d.nx, d.ny)
				d.nx, d.ny = d.nx/n, d.ny/n
				if math.Abs(d.dx*d.nx+d.dy*d.ny) < 1.5*s.mm/m.k {
					thin = append(thin, d)
				}
				if len(round) < mostDiameters {
					round = append(round, d)
				}
			}
		}
		at[int(p.y)*m.w+int(p.x)] = int32(j + 1)
	}
	return round, thin
}

// conic returns the ellipse about the middle of two diameters that comes nearest to
// their ends and normals.
func conic(p, q diameter) (e measure.Ellipse, ok bool) {
	// a x² + 2 b x y + c y² = 1, and the gradient (a x + b y, b x + c y) along the
	// normal; a crest is 3 % of its distance off, its normal some 0.1.
	var m [3][4]float64
	add := func(weight, a, b, c, one float64) {
		row := [4]float64{a, b, c, one}
		for i := range 3 {
			for j := range row {
				m[i][j] += weight * row[i] * row[j]
			}
		}
	}
	for _, d := range [2]diameter{p, q} {
		add(1, d.dx*d.dx, 2*d.dx*d.dy, d.dy*d.dy, 1)
		pn := d.dx*d.nx + d.dy*d.ny
		add(0.3, pn*d.dx*d.ny, pn*(d.dy*d.ny-d.dx*d.nx), -pn*d.dy*d.nx, 0)
	}
	a, b, c, ok := solve3(m)
	mean, half := (a+c)/2, math.Hypot((a-c)/2, b)
	// What is left of the squares is some 0.01 for four crests of one ellipse.
	if left := 2 - a*m[0][3] - b*m[1][3] - c*m[2][3]; !ok || !(mean-half > 0) || left > 0.04 {
		return e, false
	}
	return measure.Ellipse{X: (p.x + q.x) / 2, Y: (p.y + q.y) / 2, A: 1 / math.Sqrt(mean-half), B: 1 / math.Sqrt(mean+half),
		Angle: math.Atan2(2*b, a-c)*90/math.Pi + 90}, true
}

// solve3 solves three linear equations by Cramer's rule.
func solve3(m [3][4]float64) (x, y, z float64, ok bool) {
	det := func(i, j, k int) float64 {
		return m[0][i]*(m[1][j]*m[2][k]-m[2][j]*m[1][k]) - m[1][i]*(m[0][j]*m[2][k]-m[2][j]*m[0][k]) + m[2][i]*(m[0][j]*m[1][k]-m[1][j]*m[0][k])
	}
	d := det(0, 1, 2)
	return det(3, 1, 2) / d, det(0, 3, 2) / d, det(0, 1, 3) / d, d != 0
}

const seedShare = 0.4

// seek returns up to most ellipses that may be the ring, the likeliest first.
func (s ringSearch) seek(m *ringMap, most int) (out []measure.Ellipse) {
	coarse := m.coarse(s)
	t, crests := coarse.crestsOn(s)
	round, thin := coarse.diameters(s, crests)
	var pool []found
	near := 1.2 * s.mm / coarse.k
	for i, p := range round {
		for _, q := range round[:i] {
			if (p.x-q.x)*(p.x-q.x)+(p.y-q.y)*(p.y-q.y) < near*near {
				if e, ok := conic(p, q); ok && s.allows(coarse.onFilm(e), 0.5) {
					if g := t.grade(e, s.hole.R/coarse.k); g > 0 {
						pool = append(pool, found{coarse.onFilm(e), g})
					}
				}
			}
		}
	}
	pool = apart(pool, 10, 0.6*s.mm)
	wide, tr := m.trace(2*wireBlur*s.mm/m.k), m.trace(wireBlur*s.mm/m.k)
	for i, f := range pool {
		pool[i].grade = wide.weigh(f.Ellipse)
	}
	var lines []diameter
	for _, p := range thin {
		if slices.ContainsFunc(lines, func(q diameter) bool {
			return math.Abs((p.x-q.x)*q.dy-(p.y-q.y)*q.dx) < near/2*math.Hypot(q.dx, q.dy) &&
				math.Abs(p.dx*q.dy-p.dy*q.dx) < 0.05*math.Hypot(p.dx, p.dy)*math.Hypot(q.dx, q.dy)
		}) {
			continue
		}
		lines = append(lines, p)
		p.x, p.y, p.dx, p.dy = coarse.x0+p.x*coarse.k, coarse.y0+p.y*coarse.k, p.dx*coarse.k, p.dy*coarse.k
		pool = append(pool, s.along(p, wide)...)
	}
	pool = apart(pool, 24, 0.3*s.mm)
	for i, f := range pool {
		pool[i] = s.climb(wide, f, 1, 0.3)
	}
	pool = apart(pool, 8, 0.3*s.mm)
	for i, f := range pool {
		pool[i] = s.climb(tr, f, 0.6, 0.1)
	}
	r := s.newModel(m, 0, 0)
	for i, f := range pool {
		pool[i].grade = r.match(m.theta(f.Ellipse, tr.blur), false).share
	}
	for _, f := range apart(pool, most, 0.3*s.mm) {
		if f.grade >= seedShare {
			out = append(out, f.Ellipse)
		}
	}
	return out
}

// allows reports whether an ellipse has a size, shape and place that is looked for, by
// some mm. Both ends must be seen, or the long axis is not known.
func (s ringSearch) allows(e measure.Ellipse, by float64) bool {
	by *= s.mm
	return e.A >= s.inner-by && e.A <= s.outer+by && e.B <= 0.66*e.A+by && s.crosses(math.Mod(e.Angle+360, 180)) &&
		e.Center().Distance(s.start) <= s.shift+by &&
		s.hole.Distance(e.At(0)) >= 1.6*s.mm && s.hole.Distance(e.At(180)) >= 1.6*s.mm
}

// onFilm returns an ellipse in cells in px of the film.
func (m *ringMap) onFilm(e measure.Ellipse) measure.Ellipse {
	return measure.Ellipse{X: m.x0 + e.X*m.k, Y: m.y0 + e.Y*m.k, A: e.A * m.k, B: e.B * m.k, Angle: math.Mod(e.Angle+360, 180)}
}

// along returns the thin ellipses on the line of a diameter that explain most.
func (s ringSearch) along(p diameter, t ringTrace) (all []found) {
	angle := math.Atan2(p.dy, p.dx)
	sin, cos := math.Sincos(angle)
	mid := (s.start.X-p.x)*cos + (s.start.Y-p.y)*sin
	const step = 1.2 // mm
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
	for step := from * s.mm; step > to*s.mm; step /= 2 {
		for range 4 {
			before := f.grade
			for _, way := range climbs {
				for _, d := range []float64{-step, step} {
					e := f.Ellipse
					sin, cos := math.Sincos(e.Angle * math.Pi / 180)
					e.X, e.Y = e.X+d*(way[0]*cos-way[1]*sin), e.Y+d*(way[0]*sin+way[1]*cos)
					e.A, e.B = e.A+d*way[2], max(0, e.B+d*way[3])
					e.Angle += d * way[4] / e.A * 180 / math.Pi
					if w := t.weigh(e); w > f.grade && s.allows(e, 0.5) {
						f = found{e, w}
					}
				}
			}
			if f.grade <= before {
				break
			}
		}
	}
	return f
}

// ringTrace tells in a few looks what the picture of a ring would explain of a map.
type ringTrace struct {
	*ringMap
	blur  float64   // of the picture, cells
	line  []float32 // product of the map with the picture of a spot at each cell
	power []float32 // mean of the squares of the map around each cell
}

func (m *ringMap) trace(blur float64) ringTrace {
	line, power := film.Patch{W: m.w, H: m.h, V: make([]float32, len(m.bend))}, film.Patch{W: m.w, H: m.h, V: make([]float32, len(m.bend))}
	for i, v := range m.bend {
		if !m.hidden[i] {
			line.V[i], power.V[i] = v, v*v
		}
	}
	line.Blur(blur)
	power.Blur(blur)
	return ringTrace{m, blur, line.Bend(), power.V}
}

// weigh returns about what the match of an ellipse on the film would count.
func (t *ringTrace) weigh(e measure.Ellipse) float64 {
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	x, y, a, b := (e.X-t.x0)/t.k, (e.Y-t.y0)/t.k, e.A/t.k, e.B/t.k
	var product, squares, power float64
	seen := 0
	for i := range ringTurns {
		u := &ringTurns[i]
		px, py := x+a*u[0]*cos-b*u[1]*sin, y+a*u[0]*sin+b*u[1]*cos
		if !(px >= 0 && py >= 0 && px < float64(t.w) && py < float64(t.h)) {
			continue
		}
		c := int(py)*t.w + int(px)
		if t.hidden[c] {
			continue
		}
		seen++
		h := math.Sqrt(u[1]*u[1] + b/a*b/a*u[0]*u[0])
		w := h / math.Sqrt(h*h+ringFloor*ringFloor)
		// The other line lies that many blurs apart.
		d := 2 * b * u[1] / t.blur
		squares += w * w * (1 + (1-d*d+d*d*d*d/12)*math.Exp(-d*d/4))
		product += w * float64(t.line[c])
		power += float64(t.power[c])
	}
	if seen < ringPoints/4 || product <= 0 || power <= 0 {
		return 0
	}
	explains := product * product / squares
	return explains * explains / power
}

// ringPoints is the number of points of an ellipse that are looked at.
const ringPoints = 48

// grade is how much line there is along an ellipse, in cells, where it is not hidden,
// longer lines counting more; 0 where there is not more than chance lines have.
func (t *crestMap) grade(e measure.Ellipse, hole float64) float64 {
	const floor = 0.45 // of a chance line
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	var sum, lost float32
	seen := 0
	for j := range ringPoints {
		u := &ringTurns[j*7%ringPoints] // spread, so that what fails does so soon
		ax, ay, nx, ny := e.A*u[0], e.B*u[1], e.B*u[0], e.A*u[1]
		x, y := e.X+ax*cos-ay*sin, e.Y+ax*sin+ay*cos
		if !(x >= 0 && y >= 0 && x < float64(t.w) && y < float64(t.h)) {
			lost++
			seen++
		} else if i := int(y)*t.w + int(x); !t.hidden[i] {
			nx, ny = nx*cos-ny*sin, nx*sin+ny*cos
			n := 1 / (nx*nx + ny*ny)
			v := min(t.c[i]*float32((nx*nx-ny*ny)*n)+t.s[i]*float32(2*nx*ny*n), t.bend[i])
			v = max(0, min(1, v/t.limit))
			sum += v
			lost += 1 - v
			seen++
		}
		if lost > ringPoints*(1-floor) {
			return 0
		}
	}
	if seen < ringPoints/4 {
		return 0
	}
	return max(0, float64(sum)/float64(seen)-floor) * (e.A - 0.8*hole)
}

// ringTurns are the cosines and sines of a turn.
var ringTurns = func() (all [ringPoints][2]float64) {
	for i := range all {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / ringPoints)
		all[i] = [2]float64{cos, sin}
	}
	return all
}()

// apart returns the best of all of which no two lie closer than 2 d around
// their whole ringTurns.
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

// ringsApart returns about how far two ellipses lie apart where that is most, px.
func ringsApart(e measure.Ellipse, f measure.Ellipse) float64 {
	turn := math.Abs(math.Mod(e.Angle-f.Angle+270, 180) - 90)
	return max(math.Hypot(e.X-f.X, e.Y-f.Y), math.Abs(e.A-f.A), math.Abs(e.B-f.B), turn*math.Pi/180*e.A)
}
