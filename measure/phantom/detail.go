package phantom

import "math"

// Detail is what implants of one size differ by. The zero value is a smooth shell
// without a flange, a head without a skirt, a stem without cement, and a wire
// ring that is whole, in an even mantle.
type Detail struct {
	Variant uint64 // directions and lengths of the screws, the grain of coating and mantle; 0 for the usual ones

	RoughMM  float64 // standard deviation of the shell's surface under its coating, or of the mantle's, mm
	GrainMM  float64 // size of the grain; 0 for 0.8 mm
	FlangeMM float64 // how far the shell's rim stands out; 0 for none

	SkirtMM  float64 // how far a skirt of the head reaches down the neck; 0 for none
	BoneMM   float64 // thickness of the dense bone around the cup; 0 for 1.2, negative for none
	BoneOff  float64 // how far its outer surface lies off the cup's centre, mm
	Mantle   float64 // thickness of the cement around a wire-marked cup, mm; 0 for 3, negative for none
	StemBed  float64 // thickness of the cement around the stem, mm; 0 for none
	Barium   float64 // how many times as dense to rays the cement is; 0 for 1
	DomeWire bool    // half a ring more, over the dome
	GapDeg   float64 // of the ring that is missing, degrees
	Cables   int     // loops around the femur
	CableMM  float64 // thickness of a cable; 0 for 1.8 mm
}

func (d Detail) validate(at string) error {
	return run([]check{
		{at + "RoughMM", d.RoughMM, 0, 2}, {at + "GrainMM", d.GrainMM, 0, 20}, {at + "FlangeMM", d.FlangeMM, 0, 4},
		{at + "SkirtMM", d.SkirtMM, 0, 15}, {at + "BoneMM", d.BoneMM, -1, 6}, {at + "BoneOff", d.BoneOff, 0, 4}, {at + "Mantle", d.Mantle, -1, 10}, {at + "StemBed", d.StemBed, 0, 5}, {at + "Barium", d.Barium, 0, 4},
		{at + "GapDeg", d.GapDeg, 0, 180}, {at + "Cables", float64(d.Cables), 0, 5}, {at + "CableMM", d.CableMM, 0, 4},
	})
}

// flangeHigh is how far a flange reaches down from the rim, mm.
const flangeHigh = 2.5

// surface is the outer surface of a shell or mantle, smooth or rough.
type surface struct {
	radius, rough, grain float64
	field                *tile // nil where smooth
}

// surface returns the outer surface of m.
func (m *implant) surface() surface {
	d := m.hip.Detail
	s := surface{radius: m.outer, rough: d.RoughMM, grain: or(d.GrainMM, 0.8)}
	if s.rough > 0 {
		s.field = newTile(mix(d.Variant + 5))
	}
	return s
}

// sphere returns the span of r inside the surface about c. A rough surface is, for
// each ray, the sphere whose radius the grain has where the ray passes c closest.
func (s surface) sphere(r ray, c vec) span {
	if s.field == nil {
		return r.sphere(c, s.radius)
	}
	oc := c.sub(r.from)
	foot := r.dir.mul(oc.dot(r.dir)).sub(oc)
	u, v := (foot.x+0.31*foot.z)/s.grain, (foot.y+0.17*foot.z)/s.grain
	n := 0.8*s.field.at(u, v) + 0.6*s.field.at(2.3*u+40, 2.3*v+9)
	return r.sphere(c, s.radius+s.rough*max(-2.5, min(2.5, n)))
}

// most returns the largest radius of the surface.
func (s surface) most() float64 {
	if s.field == nil {
		return s.radius
	}
	return s.radius + 2.5*s.rough
}

// either returns the length of two convex parts together.
func either(a, b span) float64 { return a.length() + b.length() - a.and(b).length() }

// socket returns the bone around the cup.
func (m *implant) socket() socket {
	d := m.hip.Detail
	k := socket{m.cup, m.opening, m.outer + or(d.BoneMM, 1.2), m.outer, m.cup}
	if d.BoneOff > 0 {
		sin, cos := math.Sincos(2 * math.Pi * float64(mix(d.Variant+77)>>11) / (1 << 53))
		k.bone = m.cup.add(vec{d.BoneOff * cos, d.BoneOff * sin, 0})
	}
	return k
}

// addSkirt puts a collar about the taper, from within the head.
func (m *implant) addSkirt(axis vec) {
	if m.hip.Detail.SkirtMM <= 0 {
		return
	}
	r := min(0.42*m.headR+2, 9)
	m.skirt = []cone{newCone(m.head.at(axis, 0.3*m.headR), m.head.at(axis, m.headR+m.hip.Detail.SkirtMM), r, r-0.4)}
}

// turned returns a direction changed by the variant, by up to about 25 degrees;
// k tells its directions apart.
func (d Detail) turned(dir vec, k uint64) vec {
	if d.Variant == 0 {
		return dir
	}
	u := func(j uint64) float64 { return 2*float64(mix(d.Variant^mix(16*k+j))>>11)/(1<<53) - 1 }
	return dir.add(vec{u(1), u(2), u(3)}.mul(0.4)).unit()
}

// screw returns the length of the screw of a number, mm.
func (d Detail) screw(k uint64) float64 {
	if d.Variant == 0 {
		return screwLength
	}
	return 10 + 35*float64(mix(d.Variant^mix(900+k))>>11)/(1<<53)
}

// longestScrew bounds screw, mm.
const longestScrew = 45

// wires returns what is thin and steel: a marker ring, half a ring over the dome,
// cables.
func (m *implant) wires() []cone {
	return append(m.ring(), m.cables()...)
}

// chain returns short cylinders from point to point, the last to the first where
// it is closed.
func chain(n int, closed bool, radius float64, at func(i int) vec) (all []cone) {
	last := n - 1
	if closed {
		last = n
	}
	for i := range last {
		all = append(all, newCone(at(i), at((i+1)%n), radius, radius))
	}
	return all
}

// cables returns loops around the femur below the lesser trochanter, each with
// its crimp, a little aslant.
func (m *implant) cables() (all []cone) {
	d := m.hip.Detail
	leg := newLeg(m.hip.Side, m.head, m.hip.Abduction)
	u := func(k uint64) float64 { return float64(mix(d.Variant^mix(700+k))>>11) / (1 << 53) }
	half := or(d.CableMM, 1.8) / 2
	level := 24 + 20*u(0)
	for i := range d.Cables {
		k := uint64(10 * i)
		slope, phase := 0.5*(2*u(k+1)-1), 2*math.Pi*u(k+2)
		all = append(all, chain(90, true, half, func(j int) vec {
			sin, cos := math.Sincos(2*math.Pi*float64(j)/90 + phase)
			return leg.point(41+19*cos, level+8*slope*cos, 16*sin)
		})...)
		crimp := leg.point(41+19*math.Cos(phase), level+8*slope*math.Cos(phase), 17)
		all = append(all, newCone(crimp, crimp.at(leg.y, 5), 2*half, 2*half))
		level += 14 + 14*u(k+3)
	}
	return all
}
