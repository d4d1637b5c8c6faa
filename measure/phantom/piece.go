package phantom

import "math"

// Shape is what a Piece looks like.
type Shape string

// The shapes of pieces.
const (
	Ball Shape = "ball"
	Rod  Shape = "rod" // a cylinder
	Bar  Shape = "bar" // of rectangular section
)

// Piece is a piece of metal besides the implants: a ball to calibrate by, a nail,
// a plate, a screw. Places are in the frame of the patient, mm: x to the patient's
// left, y caudal, z anterior, from the midpoint of the native hips.
type Piece struct {
	Shape    Shape
	From, To [3]float64 // ends of the axis; a ball is about From
	Radius   float64    // of a ball or rod, mm
	Width    float64    // of a bar, across its axis in the frontal plane as far as may be
	Thick    float64    // of a bar
	Material Material   // CoCr, Titanium or Steel; empty for Steel
}

func (p Piece) validate(at string) error {
	if p.Shape != Ball && p.Shape != Rod && p.Shape != Bar {
		return &SceneError{at + "Shape", "is neither ball, rod nor bar"}
	}
	if !contains([]Material{"", CoCr, Titanium, Steel}, p.Material) {
		return &SceneError{at + "Material", "is not a metal"}
	}
	checks := []check{{at + "Radius", p.Radius, 0.1, 40}}
	if p.Shape == Bar {
		checks = []check{{at + "Width", p.Width, 0.1, 80}, {at + "Thick", p.Thick, 0.1, 40}}
	}
	for i := range 3 {
		checks = append(checks, check{at + "From", p.From[i], -400, 400}, check{at + "To", p.To[i], -400, 400})
	}
	if p.Shape != Ball {
		checks = append(checks, check{at + "To", place(p.To).sub(place(p.From)).norm(), 0.1, 800})
	}
	return run(checks)
}

func place(p [3]float64) vec { return vec{p[0], p[1], p[2]} }

// convex is a convex body.
type convex interface{ cut(r ray) span }

// ball is a sphere.
type ball struct {
	c vec
	r float64
}

func (b ball) cut(r ray) span { return r.sphere(b.c, b.r) }

// block is a box of half lengths along its axes.
type block struct {
	c       vec
	x, y, z vec
	half    vec
}

func (b block) cut(r ray) span {
	s := span{math.Inf(-1), math.Inf(1)}
	for _, a := range []struct {
		dir  vec
		half float64
	}{{b.x, b.half.x}, {b.y, b.half.y}, {b.z, b.half.z}} {
		s = s.and(r.below(b.c.at(a.dir, a.half), a.dir)).and(r.below(b.c.at(a.dir, -a.half), a.dir.mul(-1)))
	}
	if s.b <= s.a {
		return span{}
	}
	return s
}

// metal is a piece ready for rays.
type metal struct {
	convex
	is      substance
	corners []vec // of a box around it
}

func newMetal(p Piece) metal {
	from, to := place(p.From), place(p.To)
	m := metal{is: p.Material.substance(steel)}
	reach := p.Radius
	switch p.Shape {
	case Ball:
		m.convex, to = ball{from, p.Radius}, from
	case Rod:
		m.convex = newCone(from, to, p.Radius, p.Radius)
	default:
		along := to.sub(from).unit()
		across := along.cross(vec{0, 0, 1})
		if across.norm() < 0.1 {
			across = along.cross(vec{1, 0, 0})
		}
		across = across.unit()
		m.convex = block{from.add(to).mul(0.5), along, across, along.cross(across), vec{to.sub(from).norm() / 2, p.Width / 2, p.Thick / 2}}
		reach = math.Hypot(p.Width, p.Thick) / 2
	}
	for _, end := range []vec{from, to} {
		for k := range 8 {
			sign := func(bit int) float64 { return reach * float64(2*(k>>bit&1)-1) }
			m.corners = append(m.corners, end.add(vec{sign(0), sign(1), sign(2)}))
		}
	}
	return m
}

// pieces are the metal of a scene with the pixels it can touch.
func (e *exposure) pieces() (all []placedMetal) {
	for _, p := range e.s.Pieces {
		m := newMetal(p)
		all = append(all, placedMetal{m, e.view.around(m.corners)})
	}
	return all
}
