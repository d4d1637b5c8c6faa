package phantom

import (
	"math"

	"linerwatch/measure"
)

// crossTable returns the rotation that takes the AP position to a cross-table
// lateral one: the patient lies on the back, the source beside the other hip, the
// detector beside the hip of side. Head end stays up on the film, and the front is
// at image right for a left hip and at image left for a right one. obliquity angles
// the beam towards the head, degrees.
func crossTable(side measure.Side, obliquity float64) mat {
	m := side.Medial()
	return rotation(0, -90*m, 0).times(rotation(0, 0, -obliquity*m))
}

// isLateral reports whether s is a cross-table lateral film.
func (s Scene) isLateral() bool { return s.Lateral != measure.SideUnknown }

// aim returns the rotation of the patient into the room and where the patient's
// origin lies there: a lateral film is aimed at the hip.
func (s Scene) aim() (rot mat, shift vec) {
	rot = rotation(s.Tilt, -s.Rotation, s.Roll)
	if !s.isLateral() {
		return rot, vec{s.ShiftX, restCaudal + s.ShiftY, 0}
	}
	rot = crossTable(s.Lateral, s.Obliquity).times(rot)
	return rot, vec{s.ShiftX, s.ShiftY, 0}.sub(rot.apply(s.hipOf(s.Lateral).cupCenter()))
}

// hipOf returns the replaced hip of a side, or a native one.
func (s Scene) hipOf(side measure.Side) Hip {
	for _, h := range s.Hips {
		if h.Side == side {
			return h
		}
	}
	return Hip{Side: side}
}

// limb is what a lateral film shows beside the implant: the frontal plates of AP
// films have no thickness there. The other leg is held up, out of the beam.
type limb struct {
	hip   vec
	full  float64 // thickness of the soft tissue at the hip
	bones []strut
}

// strut is a cone of bone; share is how much of it is cortical bone.
type strut struct {
	cone
	share float64
}

func newLimb(s Scene, full float64) *limb {
	h := s.hipOf(s.Lateral)
	m := h.Side.Medial()
	l := &limb{hip: h.cupCenter(), full: full}
	leg := newLeg(h.Side, h.headCenter(), h.Abduction)
	at := func(medial, caudal, anterior float64) vec { return l.hip.add(vec{medial * m, caudal, anterior}) }
	for _, b := range []struct {
		from, to vec
		r0, r1   float64
		share    float64
	}{
		{at(8, 22, -14), at(26, 62, -46), 15, 18, 0.3},                    // ischium
		{at(8, -28, 4), at(-8, -100, 18), 18, 30, 0.22},                   // ilium
		{at(22, -6, 18), at(78, 26, 46), 9, 8, 0.3},                       // pubis
		{leg.point(46, 16, 0), leg.point(40, 54, 0), 16, 16, 0.25},        // trochanter
		{leg.point(40, 50, 0), leg.point(40, 210, 0), 16, 14, 0.85},       // shaft
		{leg.point(40, 50.1, 0), leg.point(40, 209.9, 0), 12.5, 9, -0.75}, // its canal
	} {
		l.bones = append(l.bones, strut{newCone(b.from, b.to, b.r0, b.r1), b.share})
	}
	return l
}

// path returns water, fat and cortical-equivalent bone along a ray that crosses
// the sagittal plane of the hip.
func (l *limb) path(t *tissue, r ray) (w, f, b float64) {
	if math.Abs(r.dir.x) < 0.1 {
		return 0, 0, 0
	}
	p := r.from.at(r.dir, (l.hip.x-r.from.x)/r.dir.x).sub(l.hip)
	round := 1 - (p.z+15)*(p.z+15)/(130*130)
	if round <= 0 { // above the groin, or in the table
		return 0, 0, 0
	}
	thick := l.full * math.Sqrt(round) * (1 - 0.3*ramp(p.y, -30, 130))
	w, f = 0.85*thick, 0.15*thick
	if t.texture > 0 {
		w *= 1 + t.texture*0.008*(t.grain.at(p.y/31, p.z/23)+0.7*t.grain.at(p.y/11+50, p.z/9)+0.5*t.grain.at(p.y/4.1, p.z/3.7+9))
	}
	for _, s := range l.bones {
		b += s.share * s.cut(r).length()
	}
	for _, k := range t.heads {
		if whole := r.sphere(k.cup, k.outer); whole.b > whole.a && k.cup == l.hip {
			dome := r.below(k.cup, k.opening)
			b += whole.and(dome).length() - r.sphere(k.cup, k.inner).and(dome).length()
		}
	}
	if b > 0 && t.texture > 0 {
		b *= 1 + t.texture*0.06*(t.grain.at(p.y/1.8, p.z)+t.grain.at((p.y+p.z)/3.4, (p.y-p.z)/1.1))
	}
	b = max(0, b)
	return max(0, w-b), f, b
}

// stemFromTheSide returns the stem as cones, for lateral films.
func stemFromTheSide(leg frame, size float64) []cone {
	at := func(x, y float64) vec { return leg.point(x*size, y*size, 0) }
	return []cone{
		newCone(at(29, 24), at(38, 48), 8*size, 9*size),
		newCone(at(38, 48), at(40, 100), 9*size, 6.5*size),
		newCone(at(40, 100), at(40, 165), 6.5*size, 4.5*size),
	}
}
