package phantom

import "math"

// span is the part of a ray inside a convex solid, in mm from the source; it is
// empty where b <= a.
type span struct{ a, b float64 }

func (s span) length() float64      { return max(0, s.b-s.a) }
func (s span) and(t span) span      { return span{max(s.a, t.a), min(s.b, t.b)} }
func (s span) minus(t span) float64 { return s.length() - s.and(t).length() }

// ray is a half line with a unit direction.
type ray struct{ from, dir vec }

// sphere returns the span of r inside a sphere.
func (r ray) sphere(c vec, radius float64) span {
	oc := c.sub(r.from)
	b := oc.dot(r.dir)
	// The squared distance of the ray to the centre, without cancellation.
	h := oc.sub(r.dir.mul(b))
	d := radius*radius - h.dot(h)
	if d <= 0 {
		return span{}
	}
	q := math.Sqrt(d)
	return span{b - q, b + q}
}

// below returns the span of r on the side of the plane through c where the
// normal points away from.
func (r ray) below(c, normal vec) span {
	f := r.from.sub(c).dot(normal)
	g := r.dir.dot(normal)
	switch {
	case g > 1e-12:
		return span{math.Inf(-1), -f / g}
	case g < -1e-12:
		return span{-f / g, math.Inf(1)}
	case f <= 0:
		return span{math.Inf(-1), math.Inf(1)}
	}
	return span{}
}

// cone is a truncated cone, or a cylinder where both radii are the same.
type cone struct {
	from, axis vec // axis has unit length
	length     float64
	r0, r1     float64
}

func newCone(from, to vec, r0, r1 float64) cone {
	d := to.sub(from)
	return cone{from, d.unit(), d.norm(), r0, r1}
}

// cut returns the span of r inside c. A ray closer to the axis than the slope
// of the cone is not met by any film and gives an empty span.
func (c cone) cut(r ray) span {
	slab := r.below(c.from.at(c.axis, c.length), c.axis).and(r.below(c.from, c.axis.mul(-1)))
	if slab.b <= slab.a {
		return span{}
	}
	// Distance from the axis squared against the linear radius squared. The
	// ray's origin is moved close to the solid to keep the digits.
	t0 := c.from.sub(r.from).dot(r.dir)
	o := r.from.at(r.dir, t0).sub(c.from)
	k := (c.r1 - c.r0) / c.length
	oz, dz := o.dot(c.axis), r.dir.dot(c.axis)
	op, dp := o.sub(c.axis.mul(oz)), r.dir.sub(c.axis.mul(dz))
	rad := c.r0 + k*oz
	qa := dp.dot(dp) - k*k*dz*dz
	qb := op.dot(dp) - rad*k*dz
	qc := op.dot(op) - rad*rad
	d := qb*qb - qa*qc
	if d <= 0 || qa <= 1e-9 {
		return span{}
	}
	q := math.Sqrt(d)
	return span{t0 + (-qb-q)/qa, t0 + (-qb+q)/qa}.and(slab)
}
