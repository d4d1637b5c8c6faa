package phantom

import "linerwatch/measure"

// restCaudal is how far the hips lie below the central ray of an AP pelvis
// film, mm: the ray is aimed midway between the iliac spines and the pubis.
const restCaudal = 30

// view maps between pixels of the detector and the frame of the patient.
type view struct {
	source       vec     // in the patient's frame
	p0, du, dv   vec     // detector at pixel (0, 0) and per pixel, patient's frame
	rot          mat     // patient to room
	shift        vec     // patient's origin in the room
	beamX, beamY float64 // pixel of the central ray
	s            Scene
}

func newView(s Scene) *view {
	rot, shift := s.aim()
	v := &view{
		rot:   rot,
		shift: shift,
		beamX: float64(s.Width)/2 + s.BeamX/s.Spacing,
		beamY: float64(s.Height)/2 + s.BeamY/s.Spacing,
		s:     s,
	}
	in := func(w vec) vec { return v.rot.inverse(w.sub(v.shift)) }
	v.source = in(vec{0, 0, s.SourceHip})
	v.p0 = in(vec{-v.beamX * s.Spacing, -v.beamY * s.Spacing, s.SourceHip - s.SourceImage})
	v.du = v.rot.inverse(vec{s.Spacing, 0, 0})
	v.dv = v.rot.inverse(vec{0, s.Spacing, 0})
	return v
}

// to returns the vector from the source to a position on the detector, which
// is the ray's direction, not of unit length.
func (v *view) to(x, y float64) vec {
	return v.p0.at(v.du, x).at(v.dv, y).sub(v.source)
}

// lift returns the film position, relative to the central ray, of the point p
// (w is 1) or direction p (w is 0) of the patient in homogeneous pixels.
func (v *view) lift(p vec, w float64) vec {
	q := v.rot.apply(p).add(v.shift.mul(w))
	k := v.s.SourceImage / v.s.Spacing
	return vec{q.x * k, q.y * k, v.s.SourceHip*w - q.z}
}

// film returns the pixel of the rendered window at a distance in pixels from
// the central ray.
func (v *view) film(x, y float64) measure.Point {
	q := measure.Point{X: v.beamX + x, Y: v.beamY + y}
	if !v.s.Window.Empty() {
		q.X -= float64(v.s.Window.Min.X)
		q.Y -= float64(v.s.Window.Min.Y)
	}
	return q
}

// project returns where a point of the patient falls on the film, in pixels of
// the rendered window.
func (v *view) project(p vec) measure.Point {
	h := v.lift(p, 1)
	return v.film(h.x/h.z, h.y/h.z)
}
