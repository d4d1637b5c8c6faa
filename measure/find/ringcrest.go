package find

import (
	"cmp"
	"math"
	"slices"

	"linerwatch/measure"
)

// crestPoint is a place on the crest of a line, px of the film, with the normal of the
// line.
type crestPoint struct {
	x, y, nx, ny float64
	height       float32
}

// diameter is two crests on either side of a possible centre, with the same normal.
type diameter struct {
	x, y   float64 // centre, px of the film
	dx, dy float64 // from there to one of them
	nx, ny float64
}

// What is made of a film, so that one full of lines takes no longer: of 600 crests 20 to
// 110 and of 1000 diameters 5 to 300 are of a ring of which some shows; tried by .ci/vary.
const (
	mostCrests    = 600
	mostDiameters = 1000
)

// crests returns the crests of a coarse map within reach of the ring, the highest
// first. A crest is as high as the downward curvature across it, less what there is
// along it.
func (m *ringMap) crests(s ringSearch) (all []crestPoint) {
	xx, yy, xy := m.smooth.Curvature()
	height := make([]float32, len(xx))
	for i, bend := range m.bend {
		if bend > 0 && !m.hidden[i] {
			x, y := float64(yy[i]-xx[i]), float64(2*xy[i])
			height[i] = min(bend, float32(math.Sqrt(x*x+y*y)))
		}
	}
	far := s.outer + s.shift
	for y := 1; y+1 < m.H; y++ {
		for x := 1; x+1 < m.W; x++ {
			i := y*m.W + x
			v := height[i]
			at := measure.Point{X: m.corner.X + (float64(x)+0.5)*m.k, Y: m.corner.Y + (float64(y)+0.5)*m.k}
			if v == 0 || (at.X-s.start.X)*(at.X-s.start.X)+(at.Y-s.start.Y)*(at.Y-s.start.Y) > far*far {
				continue
			}
			nx, ny := halfAngle(float64(yy[i]-xx[i]), float64(-2*xy[i]))
			dx, dy := math.Round(nx), math.Round(ny)
			step := int(dy)*m.W + int(dx)
			a, b := height[i-step], height[i+step]
			if v < a || v <= b {
				continue
			}
			d := 0.5 * float64(a-b) / float64(a-2*v+b) * m.k
			all = append(all, crestPoint{at.X + d*dx, at.Y + d*dy, nx, ny, v})
		}
	}
	slices.SortFunc(all, func(a, b crestPoint) int { return cmp.Compare(b.height, a.height) })
	return all[:min(len(all), mostCrests)]
}

// halfAngle returns the unit vector at half of the angle of (x, y).
func halfAngle(x, y float64) (cos, sin float64) {
	cos = x / math.Sqrt(x*x+y*y)
	return math.Sqrt(max(0, 1+cos) / 2), math.Copysign(math.Sqrt(max(0, 1-cos)/2), y)
}

// diameters returns pairs of crests with one normal, whose middle lies within the
// search's shift of its start: some of any kind, by the place of their middle from left
// to right, and all that lie along a line, the highest first.
func (m *ringMap) diameters(s ringSearch) (round, thin []diameter) {
	crests := m.crests(s)
	for j, p := range crests {
		for _, q := range crests[:j] {
			d := diameter{x: (p.x + q.x) / 2, y: (p.y + q.y) / 2, dx: (p.x - q.x) / 2, dy: (p.y - q.y) / 2}
			if (d.x-s.start.X)*(d.x-s.start.X)+(d.y-s.start.Y)*(d.y-s.start.Y) > s.shift*s.shift {
				continue
			}
			dot := p.nx*q.nx + p.ny*q.ny
			if math.Abs(dot) < alikeNormals {
				continue
			}
			turn := math.Copysign(1, dot)
			d.nx, d.ny = p.nx+turn*q.nx, p.ny+turn*q.ny
			n := 1 / math.Sqrt(d.nx*d.nx+d.ny*d.ny)
			d.nx, d.ny = d.nx*n, d.ny*n
			if math.Abs(d.dx*d.nx+d.dy*d.ny) < thinMM*s.mm {
				thin = append(thin, d)
			}
			round = append(round, d)
		}
	}
	if len(round) > mostDiameters {
		for i := range mostDiameters {
			round[i] = round[i*len(round)/mostDiameters]
		}
		round = round[:mostDiameters]
	}
	slices.SortFunc(round, func(a, b diameter) int { return cmp.Compare(a.x, b.x) })
	return round, thin
}

const (
	alikeNormals = 0.94 // cosine of 20 degrees: the normal of a crest is 5 to 10 off; tried by .ci/vary
	thinMM       = 1.5  // short half-axis up to which both sides may be one line; tried by .ci/vary
)

// equations are what an end of a diameter, and its normal, give to those of an ellipse.
type equations [2][3][4]float64

// equations returns those of a x² + 2 b x y + c y² = 1 about the middle of d, and of a
// gradient (a x + b y, b x + c y) along its normal; a crest is 3 % of its distance off,
// its normal some 0.1.
func (d *diameter) equations() (m equations) {
	pn := d.dx*d.nx + d.dy*d.ny
	end := [4]float64{d.dx * d.dx, 2 * d.dx * d.dy, d.dy * d.dy, 1}
	normal := [4]float64{pn * d.dx * d.ny, pn * (d.dy*d.ny - d.dx*d.nx), -pn * d.dy * d.nx}
	for i := range 3 {
		for j := range 4 {
			m[0][i][j], m[1][i][j] = end[i]*end[j], 0.3*normal[i]*normal[j]
		}
	}
	return m
}

// conic returns the ellipse about the middle of two diameters that comes nearest to
// their ends and normals, by the equations of each, if it has a size that is looked for
// by some mm.
func (s ringSearch) conic(p, q *diameter, of, and *equations, by float64) (e measure.Ellipse, ok bool) {
	var m [3][4]float64
	for i := range m {
		for j := range m[i] {
			m[i][j] = of[0][i][j] + of[1][i][j] + and[0][i][j] + and[1][i][j]
		}
	}
	a, b, c, ok := solve3(&m)
	mean, half := (a+c)/2, math.Sqrt((a-c)*(a-c)/4+b*b)
	// What is left of the squares is some 0.01 for four crests of one ellipse.
	if left := 2 - a*m[0][3] - b*m[1][3] - c*m[2][3]; !ok || !(mean-half > 0) || left > 0.04 {
		return e, false
	}
	if e.A, e.B = 1/math.Sqrt(mean-half), 1/math.Sqrt(mean+half); !s.sized(e, by) {
		return e, false
	}
	e.X, e.Y, e.Angle = (p.x+q.x)/2, (p.y+q.y)/2, math.Atan2(2*b, a-c)*90/math.Pi+90
	return e, true
}

// solve3 solves three linear equations by Cramer's rule.
func solve3(m *[3][4]float64) (x, y, z float64, ok bool) {
	det := func(i, j, k int) float64 {
		return m[0][i]*(m[1][j]*m[2][k]-m[2][j]*m[1][k]) - m[1][i]*(m[0][j]*m[2][k]-m[2][j]*m[0][k]) + m[2][i]*(m[0][j]*m[1][k]-m[1][j]*m[0][k])
	}
	d := det(0, 1, 2)
	return det(3, 1, 2) / d, det(0, 3, 2) / d, det(0, 1, 3) / d, d != 0
}
