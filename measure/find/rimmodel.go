package find

import (
	"image"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// The parameters of a shell's rim, lengths in radii of the shell.
const (
	rimAxis    = iota // direction of the opening on the film, radians from +x towards +y
	rimVersion        // angle of the axis to the film's plane, radians; its sign is not seen
	rimDepth          // of the rim's plane beyond the sphere's centre
	rimWall           // thickness of the shell
	rimPose
)

type rimTheta [rimPose]float64

// The linear coefficients: a background of second order and functions of the path.
const (
	rimGround = 6
	rimPaths  = 3
	rimLinear = rimGround + rimPaths
	rimAll    = rimLinear + rimPose
)

// rimLengths are the paths, in radii, at which path / (path + length) has half of
// its rise: some 0.6, 2 and 7 mm, for metal of any kind and behind any scatter.
var rimLengths = [rimPaths]float64{0.022, 0.074, 0.26}

// Priors of depth and wall, in radii: 1.4 mm about a hemisphere; a wall of 4 mm, give or
// take 1.4 (common practice, no source; tried by .ci/vary).
var (
	rimPrior   = rimTheta{rimWall: 0.15}
	rimPriorSD = rimTheta{math.Inf(1), math.Inf(1), 0.05, 0.05}
)

// rimGrid is a film around a shell's opening, in rays that are smoothed and of
// which every second one along both axes is fitted: the cells.
type rimGrid struct {
	w     int     // rays in a row
	pitch float64 // between rays, radii
	rays  []rimRay
	cells []rimCell
	mids  []int               // places above and below cells, as far as they are smoothed
	rise  [][rimPaths]float64 // of each ray, by its place
	even  [][rimPaths]float64 // smoothed along the row, at mids
	turn  [][rimPose]float64  // how much the picture of each ray changes with the pose; nil until slopes asks
	level [][rimPose]float64  // smoothed along the row, at mids
}

type rimRay struct {
	x, y   float64 // from the shell's centre, radii
	square float64 // of the distance
	half   float64 // of the chord in the sphere
	at     int
}

type rimCell struct {
	rimRay
	v      float64 // grey level, in ranges of the film's
	weight float64
	block  int // of cells whose residuals are taken as correlated
}

// rimBlock is the size of a block of cells that err alike, radii: 4 mm, what holes, screws
// and the bone's trabeculae change together; tried by .ci/vary.
const rimBlock = 0.15

// rimKernel smooths rays, of the film and of the model alike.
var rimKernel = [5]float64{1. / 16, 4. / 16, 6. / 16, 4. / 16, 1. / 16}

// rimModel is the picture of a shell's opening.
type rimModel struct {
	shell, head measure.Circle
	size        measure.Point // of the film, px
	start       float64       // direction of the opening, about, radians
	neck        strip
	fine        *rimGrid
	coarse      *rimGrid
	mid, span   float64 // of the film's grey levels
	clipped     float64 // share of the cells that the film cannot show brighter
}

// strip is what a neck hides: from the head's centre along (ux, uy) without end,
// from left to right of it.
type strip struct {
	from        measure.Point
	ux, uy      float64
	left, right float64 // px across; none where left is right
}

func (s strip) hides(p measure.Point) bool {
	dx, dy := p.X-s.from.X, p.Y-s.from.Y
	across := s.ux*dy - s.uy*dx
	return s.ux*dx+s.uy*dy > 0 && across > s.left && across < s.right
}

func newRimModel(img *image.Gray16, shell, head measure.Circle) (*rimModel, error) {
	size := img.Bounds().Size()
	m := &rimModel{shell: shell, head: head, size: measure.Point{X: float64(size.X), Y: float64(size.Y)}}
	patch := film.Crop(img, shell.X, shell.Y, 1.25*shell.R)
	if patch.V == nil {
		return nil, measure.Fault("rim.off-film", nil)
	}
	k := max(1, int(shell.R/64))
	small := patch.Blocks(k)
	low, middle, high := small.Quantiles()
	if m.mid, m.span = middle, high-low; !(m.span > 0) {
		return nil, measure.Fault("rim.flat", nil)
	}
	var ok bool
	if m.start, ok = m.direction(&patch); !ok {
		return nil, measure.Fault("rim.no-opening", nil)
	}
	m.neck = m.findNeck(&patch)
	film.Both(func() { m.fine = m.grid(&patch, &small, float64(k)) }, func() {
		pair := small.Blocks(2)
		m.coarse = m.grid(&patch, &pair, float64(2*k))
	})
	top := (patch.Top() - 0.5 - m.mid) / m.span
	for _, c := range m.fine.cells {
		if c.v >= top {
			m.clipped += 1 / float64(len(m.fine.cells))
		}
	}
	if len(m.coarse.cells) < 100 {
		return nil, measure.Fault("rim.little-opening", nil)
	}
	return m, nil
}

// direction returns about where the shell opens: opposite to the middle of the
// outline along which metal ends.
func (m *rimModel) direction(patch *film.Patch) (axis float64, ok bool) {
	const n = 180
	falls := make([]float64, n)
	c := m.shell
	for i := range falls {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		in, on := patch.At(c.X+0.94*c.R*cos, c.Y+0.94*c.R*sin)
		out, on2 := patch.At(c.X+1.06*c.R*cos, c.Y+1.06*c.R*sin)
		if falls[i] = math.Inf(-1); on && on2 {
			falls[i] = in - out
		}
	}
	limit := 0.5 * film.Smallest(slices.Clone(falls), n*3/4)
	if !(limit > 0) {
		return 0, false
	}
	var x, y, count float64
	for i, f := range falls {
		if f > limit {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
			x, y, count = x+cos, y+sin, count+1
		}
	}
	// A half circle has 0.64, a whole one 0.
	return math.Atan2(-y, -x), math.Hypot(x, y) > 0.3*count
}

// findNeck returns the strip in which metal goes on from the head out of the shell
// on the side of the opening.
func (m *rimModel) findNeck(patch *film.Patch) strip {
	inside, ok := patch.At(m.head.X, m.head.Y)
	if !ok {
		return strip{}
	}
	limit := (inside + m.mid) / 2
	far := 1.15 * m.shell.R
	metal := func(p measure.Point, ux, uy float64) bool {
		for t := m.head.R * 0.5; t < 3*m.shell.R; t += 2 {
			x, y := p.X+t*ux, p.Y+t*uy
			if math.Hypot(x-m.shell.X, y-m.shell.Y) > far {
				return true
			}
			if v, ok := patch.At(x, y); !ok || v < limit {
				return false
			}
		}
		return false
	}
	var ux, uy float64
	for i := -45; i <= 45; i++ {
		sin, cos := math.Sincos(m.start + float64(2*i)*math.Pi/180)
		if metal(m.head.Center(), cos, sin) {
			ux, uy = ux+cos, uy+sin
		}
	}
	n2 := math.Hypot(ux, uy)
	if n2 == 0 {
		return strip{}
	}
	s := strip{from: m.head.Center(), ux: ux / n2, uy: uy / n2}
	edge := func(sign float64) float64 {
		d := 0.0
		for ; d < m.head.R && metal(measure.Point{X: s.from.X - sign*d*s.uy, Y: s.from.Y + sign*d*s.ux}, s.ux, s.uy); d++ {
		}
		return sign * (d + 0.06*m.shell.R)
	}
	s.left, s.right = edge(-1), edge(1)
	return s
}

// open reports whether a place is neither behind head or neck nor off the film.
func (m *rimModel) open(p measure.Point) bool {
	return m.head.Distance(p) > 0.04*m.shell.R && !m.neck.hides(p) &&
		p.X > 1 && p.Y > 1 && p.X < m.size.X-1 && p.Y < m.size.Y-1
}

// grid returns the rays of small, of k px each, around the opening.
func (m *rimModel) grid(patch, small *film.Patch, k float64) *rimGrid {
	uy, ux := math.Sincos(m.start)
	n := small.W * small.H
	g := &rimGrid{w: small.W, pitch: k / m.shell.R, rise: make([][rimPaths]float64, n), even: make([][rimPaths]float64, n)}
	needed, middle := make([]bool, n), make([]bool, n)
	place := func(i, j int) measure.Point {
		return measure.Point{X: float64(patch.X0) + (float64(i)+0.5)*k, Y: float64(patch.Y0) + (float64(j)+0.5)*k}
	}
	for j := 2; j+2 < small.H; j += 2 {
		for i := 2; i+2 < small.W; i += 2 {
			p, at := place(i, j), j*small.W+i
			r := m.ray(p, at)
			if r.square > 1.12*1.12 || r.x*ux+r.y*uy < -0.55 || !m.open(p) {
				continue
			}
			c := rimCell{rimRay: r, weight: 1, block: int((r.x+2)/rimBlock)*64 + int((r.y+2)/rimBlock)}
			for y, a := range rimKernel {
				middle[at+(y-2)*small.W] = true
				for x, b := range rimKernel {
					i := at + (y-2)*small.W + x - 2
					c.v += a * b * (float64(small.V[i]) - m.mid) / m.span
					needed[i] = true
				}
			}
			g.cells = append(g.cells, c)
		}
	}
	for at := range n {
		if middle[at] {
			g.mids = append(g.mids, at)
		}
		if needed[at] {
			if r := m.ray(place(at%small.W, at/small.W), at); r.half > 0 {
				g.rays = append(g.rays, r)
			}
		}
	}
	return g
}

// ray returns that through a place on the film.
func (m *rimModel) ray(p measure.Point, at int) rimRay {
	r := rimRay{x: (p.X - m.shell.X) / m.shell.R, y: (p.Y - m.shell.Y) / m.shell.R, at: at}
	r.square = r.x*r.x + r.y*r.y
	r.half = math.Sqrt(max(0, 1-r.square))
	return r
}

// top is where metal ends along a ray, and hollow half of the chord in the inner sphere.
func (t *rimPlane) top(r *rimRay) float64 { return t.depth - t.ux*r.x - t.uy*r.y }

func (t *rimPlane) hollow(r *rimRay) float64 {
	if r.square >= t.inner {
		return 0
	}
	return math.Sqrt(t.inner - r.square)
}

// between returns the path in metal, in radii, below top and outside of a hollow. With
// the axis in the plane of u, along the film, and z, along the ray, metal lies between
// two spheres and where u cos v + z sin v is at most the depth.
func (r *rimRay) between(top, hollow float64) float64 {
	if top <= -r.half {
		return 0
	}
	path := min(r.half, top) + r.half
	if top > -hollow {
		path -= min(hollow, top) + hollow
	}
	return path
}

// rimPlane is a pose ready for rays: along z metal ends at depth - ux x - uy y.
type rimPlane struct{ ux, uy, depth, inner float64 }

func (p rimTheta) plane() rimPlane {
	uy, ux := math.Sincos(p[rimAxis])
	sin, cos := math.Sincos(p[rimVersion])
	inner := 1 - p[rimWall]
	k := 1 / max(1e-3, math.Abs(sin))
	return rimPlane{ux * cos * k, uy * cos * k, p[rimDepth] * k, inner * inner}
}

// paths fills the smoothed functions of the path of each cell.
func (g *rimGrid) paths(p rimTheta, out [][rimPaths]float64) {
	t := p.plane()
	film.InBands(len(g.rays), func(from, to int) {
		for i := from; i < to; i++ {
			r := &g.rays[i]
			g.rise[r.at] = rise(r.between(t.top(r), t.hollow(r)))
		}
	})
	smoothRays(g, g.rise, g.even, out)
}

// smoothRays fills out with what the rays of each cell come to by the kernel along both
// axes; even has room for what they do along the row.
func smoothRays[R [rimPaths]float64 | [rimPose]float64](g *rimGrid, rays, even, out []R) {
	film.InBands(len(g.mids), func(from, to int) {
		for _, at := range g.mids[from:to] {
			smooth(&even[at], &rays[at-2], &rays[at-1], &rays[at], &rays[at+1], &rays[at+2])
		}
	})
	film.InBands(len(g.cells), func(from, to int) {
		for i := from; i < to; i++ {
			at, w := g.cells[i].at, g.w
			smooth(&out[i], &even[at-2*w], &even[at-w], &even[at], &even[at+w], &even[at+2*w])
		}
	})
}

// smooth sets to to what five side by side come to by the kernel.
func smooth[R [rimPaths]float64 | [rimPose]float64](to, a, b, c, d, e *R) {
	for k := range len(*to) {
		(*to)[k] = rimKernel[0]*((*a)[k]+(*e)[k]) + rimKernel[1]*((*b)[k]+(*d)[k]) + rimKernel[2]*(*c)[k]
	}
}

// slopes fills how much the picture of each cell changes where a parameter of the pose p
// grows by step.
func (g *rimGrid) slopes(p rimTheta, step float64, coef *rimCoef, out [][rimPose]float64) {
	if g.turn == nil {
		g.turn, g.level = make([][rimPose]float64, len(g.rise)), make([][rimPose]float64, len(g.rise))
	}
	from := p.plane()
	var to [rimPose]rimPlane
	for k := range to {
		q := p
		q[k] += step
		to[k] = q.plane()
	}
	film.InBands(len(g.rays), func(first, last int) {
		for i := first; i < last; i++ {
			r := &g.rays[i]
			top, hollow := from.top(r), from.hollow(r)
			path := r.between(top, hollow)
			v := coef.level(path)
			for k := range to {
				at, within := to[k].top(r), hollow
				if k == rimWall {
					at, within = top, to[k].hollow(r)
				}
				turn := &g.turn[r.at][k]
				if other := r.between(at, within); other != path {
					*turn = coef.level(other) - v
				} else {
					*turn = 0
				}
			}
		}
	})
	smoothRays(g, g.turn, g.level, out)
}

// twin returns a grid of the same cells, to be used at the same time.
func (g *rimGrid) twin() *rimGrid {
	t := rimGrid{w: g.w, pitch: g.pitch, rays: g.rays, cells: g.cells, mids: g.mids}
	t.rise, t.even = make([][rimPaths]float64, len(g.rise)), make([][rimPaths]float64, len(g.rise))
	return &t
}

func rise(path float64) (f [rimPaths]float64) {
	if path <= 0 {
		return f
	}
	// path / (path + length), by one division.
	a, b, c := path+rimLengths[0], path+rimLengths[1], path+rimLengths[2]
	k := path / (a * b * c)
	return [rimPaths]float64{k * b * c, k * a * c, k * a * b}
}
