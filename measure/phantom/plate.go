package phantom

import "math"

// plate is a solid drawn as an outline in a frontal plane, with rounded edges:
// its thickness rises from 0 at the outline to full at the distance round from
// it, as a quarter of an ellipse.
type plate struct {
	loops    [][][2]float64 // closed, dense; even-odd
	round    float64        // width of the rounded edge, mm
	full     float64        // full thickness, mm
	cortex   float64        // thickness of the outer layer, mm
	pad      float64        // room around the outline, mm
	cell     float64        // of the distance grid, mm
	x0, y0   float64        // corner of the grid
	nx, ny   int
	distance []float32 // to the outline, positive inside, mm
}

// points returns the outer outline.
func (p *plate) points() [][2]float64 { return p.loops[0] }

// spline returns the closed cardinal spline through p.
func spline(p ...[2]float64) [][2]float64 {
	n := len(p)
	var out [][2]float64
	for i := range p {
		out = append(out, segment(p[(i+n-1)%n], p[i], p[(i+1)%n], p[(i+2)%n])...)
	}
	return out
}

// segment returns points from b on towards c on the Catmull-Rom spline.
func segment(a, b, c, d [2]float64) [][2]float64 {
	const per = 8
	out := make([][2]float64, per)
	for k := range out {
		t := float64(k) / per
		for j := range 2 {
			out[k][j] = 0.5 * (2*b[j] + (c[j]-a[j])*t +
				(2*a[j]-5*b[j]+4*c[j]-d[j])*t*t + (3*b[j]-a[j]-3*c[j]+d[j])*t*t*t)
		}
	}
	return out
}

// build fills the distance grid.
func (p *plate) build(cell float64) *plate {
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, q := range p.points() {
		for j := range q {
			lo[j], hi[j] = min(lo[j], q[j]), max(hi[j], q[j])
		}
	}
	p.cell, p.x0, p.y0 = cell, lo[0]-2*cell-p.pad, lo[1]-2*cell-p.pad
	p.nx = int((hi[0]+p.pad-p.x0)/cell) + 3
	p.ny = int((hi[1]+p.pad-p.y0)/cell) + 3
	p.distance = make([]float32, p.nx*p.ny)
	for j := range p.ny {
		for i := range p.nx {
			p.distance[j*p.nx+i] = float32(p.signed(p.x0+float64(i)*cell, p.y0+float64(j)*cell))
		}
	}
	return p
}

// signed returns the signed distance of a point to the outline.
func (p *plate) signed(x, y float64) float64 {
	best, inside := math.Inf(1), false
	for _, loop := range p.loops {
		a := loop[len(loop)-1]
		for _, b := range loop {
			dx, dy := b[0]-a[0], b[1]-a[1]
			t := 0.0
			if l := dx*dx + dy*dy; l > 0 {
				t = min(1, max(0, ((x-a[0])*dx+(y-a[1])*dy)/l))
			}
			ex, ey := a[0]+t*dx-x, a[1]+t*dy-y
			best = min(best, ex*ex+ey*ey)
			if (a[1] > y) != (b[1] > y) && x < a[0]+(y-a[1])/dy*dx {
				inside = !inside
			}
			a = b
		}
	}
	if inside {
		return math.Sqrt(best)
	}
	return -math.Sqrt(best)
}

// covers reports whether a place lies on the grid.
func (p *plate) covers(x, y float64) bool {
	fx, fy := (x-p.x0)/p.cell, (y-p.y0)/p.cell
	return fx >= 0 && fy >= 0 && fx < float64(p.nx-1) && fy < float64(p.ny-1)
}

// at returns the interpolated distance, negative outside the grid.
func (p *plate) at(x, y float64) float64 {
	fx, fy := (x-p.x0)/p.cell, (y-p.y0)/p.cell
	if !(fx >= 0 && fy >= 0 && fx < float64(p.nx-1) && fy < float64(p.ny-1)) {
		return -1
	}
	i, j := int(fx), int(fy)
	tx, ty := float32(fx-float64(i)), float32(fy-float64(j))
	d := p.distance[j*p.nx+i:]
	e := d[p.nx:]
	a := d[0] + tx*(d[1]-d[0])
	b := e[0] + tx*(e[1]-e[0])
	return float64(a + ty*(b-a))
}

// thickness returns the whole thickness at the distance d from the outline,
// and the part of it under the cortex.
func (p *plate) thickness(d float64) (all, inside float64) {
	if d <= 0 {
		return 0, 0
	}
	all = p.full * edge(d/p.round)
	if d > p.cortex {
		inside = max(0, p.full-2*p.cortex) * edge((d-p.cortex)/max(1, p.round-p.cortex))
	}
	return all, min(inside, all)
}

// edge is a quarter of an ellipse.
func edge(s float64) float64 {
	if s >= 1 {
		return 1
	}
	return math.Sqrt(s * (2 - s))
}

// frame places a plate: x lateral, y caudal in its own plane.
type frame struct {
	origin vec
	x, y   vec // unit vectors
	z      vec
}

// point returns the place of plate coordinates, z in front of the plane.
func (f *frame) point(x, y, z float64) vec { return f.origin.at(f.x, x).at(f.y, y).at(f.z, z) }

// newLeg returns the frame of a leg about the centre of its head.
func newLeg(side interface{ Medial() float64 }, head vec, abduction float64) frame {
	s, c := math.Sincos(abduction * math.Pi / 180)
	lat := -side.Medial()
	return frame{origin: head, x: vec{lat * c, -s, 0}, y: vec{lat * s, c, 0}, z: vec{0, 0, 1}}
}

// placed is a plate in the patient.
type placed struct {
	plate *plate
	frame frame
	depth float64 // of the plane in front of the frame's origin, mm
	scale float64
}

// local returns where r meets the plane, in plate coordinates.
func (p *placed) local(r ray) (x, y, slant float64) {
	o := p.frame.origin.at(p.frame.z, p.depth).sub(r.from)
	g := r.dir.dot(p.frame.z)
	q := r.dir.mul(o.dot(p.frame.z) / g).sub(o)
	return q.dot(p.frame.x) / p.scale, q.dot(p.frame.y) / p.scale, 1 / math.Abs(g)
}

// through returns the path of r through the plate, and the part of it under
// the cortex, mm.
func (p *placed) through(r ray) (all, inside float64) {
	x, y, slant := p.local(r)
	d := p.plate.at(x, y)
	if d <= 0 {
		return 0, 0
	}
	all, inside = p.plate.thickness(d)
	return all * slant * p.scale, inside * slant * p.scale
}

// grown returns the path of r through the plate with its outline, and its faces,
// moved out by mm.
func (p *placed) grown(r ray, mm float64) float64 {
	x, y, slant := p.local(r)
	d := p.plate.at(x, y) + mm/p.scale
	if d <= 0 || !p.plate.covers(x, y) {
		return 0
	}
	q := *p.plate
	q.full, q.cortex = q.full+2*mm/p.scale, 0
	all, _ := q.thickness(d)
	return all * slant * p.scale
}
