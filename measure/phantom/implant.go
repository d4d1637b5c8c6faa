package phantom

import (
	"math"
	"slices"

	"linerwatch/measure"
)

// implant is one hip replacement ready for rays.
type implant struct {
	hip             Hip
	cup, head       vec // centres
	opening         vec // unit normal of the rim, out of the cup
	headR, bore     float64
	outer, inner    float64 // radii of shell, or of cement and polyethylene
	neckMid         vec     // middle of a sphere around the neck
	neckR           float64 // and its radius
	neck            []cone
	screws          []cone
	holes           []cone
	stem            placed
	side            []cone // the stem of a lateral film, in place of stem
	headIs, shellIs substance
	stemIs          substance

	coat   surface // the outer surface of shell or mantle
	flange []cone  // of the rim; one or none
	skirt  []cone  // of the head; one or none
	bed    placed  // of the stem, where it is cemented
}

// lengths is the path through each substance, mm.
type lengths [substances]float64

// usualLateral is the distance of a hip from the midline, mm.
const usualLateral = 92

func (h Hip) lateral() float64 { return or(h.Lateral, usualLateral) }

func (h Hip) cupCenter() vec { return vec{-h.lateral() * h.Side.Medial(), h.Caudal, 0} }

// opening returns the axis of the cup after the radiographic definition: with
// x lateral, y anterior and z caudal it is (sin RI cos RV, sin RV, cos RI cos RV)
// (Murray DW. J Bone Joint Surg Br 1993;75:228-232).
func (h Hip) opening() vec {
	si, ci := math.Sincos(h.Inclination * math.Pi / 180)
	sv, cv := math.Sincos(h.Anteversion * math.Pi / 180)
	return vec{-h.Side.Medial() * si * cv, ci * cv, sv}
}

// rimCenter returns the centre of the circle in which the cup ends.
func (h Hip) rimCenter() vec { return h.cupCenter().at(h.opening(), h.RimMM) }

func (h Hip) headCenter() vec {
	return h.cupCenter().add(vec{h.Side.Medial() * h.Medial, -h.Superior, h.Anterior})
}

func newImplant(h Hip) *implant {
	m := &implant{
		hip: h, cup: h.cupCenter(), head: h.headCenter(), opening: h.opening(),
		headR: h.HeadMM / 2, bore: h.HeadMM/2 + 0.1, outer: h.ShellMM / 2,
		headIs: h.HeadMaterial.substance(cocr), shellIs: h.ShellMaterial.substance(titanium),
		stemIs: h.StemMaterial.substance(titanium),
	}
	m.inner = m.outer - or(h.WallMM, 4)
	if h.Cup == measure.Wire {
		m.outer, m.inner = h.ShellMM/2+max(0.2, or(h.Detail.Mantle, 3)), h.ShellMM/2+0.2
	}
	m.coat = m.surface()
	if f := h.Detail.FlangeMM; f > 0 && h.Cup == measure.Shell {
		r := math.Sqrt(m.outer*m.outer-h.RimMM*h.RimMM) + f
		m.flange = []cone{newCone(h.rimCenter().at(m.opening, -flangeHigh), h.rimCenter(), r, r)}
	}
	leg := newLeg(h.Side, m.head, h.Abduction)
	size := or(h.StemScale, 1)
	m.stem = placed{plate: stemPlate(), frame: leg, scale: size}
	// The taper begins inside the head; the neck widens into the body.
	m.neck = []cone{
		newCone(leg.point(-2.5, -2.1, 0), leg.point(12, 10.1, 0), 5.9, 6.5),
		newCone(leg.point(11.9, 10, 0), leg.point(12.8, 10.8, 0), 6.5, 5.6),
		newCone(leg.point(12.7, 10.7, 0), leg.point(20, 16.8, 0), 5.6, 5.9),
		newCone(leg.point(19.9, 16.7, 0), leg.point(30*size, 25.2*size, 0), 5.9, 7.9),
	}
	m.neckMid, m.neckR = leg.point(14, 11.8, 0), 23*max(1, size)+10
	if h.Detail.StemBed > 0 {
		m.bed = placed{plate: stemBedPlate(), frame: leg, scale: size}
	}
	m.addSkirt(m.neck[0].axis)
	m.addScrews()
	return m
}

// screwLength is how far a screw stands out of the shell, mm.
const screwLength = 24

func (m *implant) addScrews() {
	if m.hip.Cup != measure.Shell {
		return
	}
	pole := m.opening.mul(-1)
	up := vec{0, -1, 0}
	side := vec{-m.hip.Side.Medial(), 0, 0}
	dirs := []vec{
		pole.add(up.mul(0.75)).unit(),
		pole.add(up.mul(0.9)).add(vec{0, 0, -0.55}).unit(),
		pole.add(up.mul(0.45)).add(side.mul(-0.3)).add(vec{0, 0, 0.5}).unit(),
	}
	for i, d := range dirs {
		d = m.hip.Detail.turned(d, uint64(i))
		long := m.hip.Detail.screw(uint64(i))
		at := func(r float64) vec { return m.cup.at(d, r) }
		if i < m.hip.Screws {
			m.screws = append(m.screws,
				newCone(at(m.inner-1), at(m.outer+1), 4, 3.4),
				newCone(at(m.outer+1), at(m.outer+long), 2.6, 2.4))
		} else if m.hip.Holes {
			m.holes = append(m.holes, newCone(at(m.inner-3), at(m.outer+2), 4, 4))
		}
	}
	if m.hip.Holes { // the hole of the inserter at the pole
		m.holes = append(m.holes, newCone(m.cup.at(pole, m.inner-3), m.cup.at(pole, m.outer+2), 3.5, 3.5))
	}
}

// through adds the path of r through the implant to l.
func (m *implant) through(r ray, l *lengths) {
	head := r.sphere(m.head, m.headR)
	metal := m.shaft(r, head, l)
	if s := r.sphere(m.cup, m.reach()); s.b <= s.a {
		return
	}
	dome := r.below(m.hip.rimCenter(), m.opening)
	outer := m.coat.sphere(r, m.cup).and(dome)
	inner := r.sphere(m.cup, m.inner).and(dome)
	wall := outer.length() - inner.length()
	// inWall is how much of a span lies in the wall.
	inWall := func(s span) float64 {
		return max(0, s.and(outer).length()-s.and(inner).length())
	}
	for _, s := range m.screws {
		screw := s.cut(r)
		l[titanium] += screw.length() - inWall(screw)
	}
	for _, f := range m.flange {
		if ring := f.cut(r); ring.b > ring.a {
			l[m.shellIs] += max(0, ring.length()-either(ring.and(outer), ring.and(r.sphere(m.cup, m.inner))))
		}
	}
	if outer.b <= outer.a {
		return
	}
	for _, h := range m.holes {
		wall -= inWall(h.cut(r))
	}
	if m.hip.Cup == measure.Wire {
		l[cement] += max(0, wall) * or(m.hip.Detail.Barium, 1)
	} else {
		l[m.shellIs] += max(0, wall)
	}
	// Polyethylene fills the shell but for the bore, the head and the neck.
	bore := r.sphere(m.cup, m.bore).and(dome)
	head = head.and(inner)
	free := inner.length() - bore.length() - head.length() + bore.and(head).length()
	l[polyethylene] += max(0, free-metal.and(inner).minus(head))
}

// reach returns the radius of a sphere about the cup that holds it and its screws.
func (m *implant) reach() float64 {
	long := screwLength + 3.0
	if m.hip.Detail.Variant != 0 {
		long = longestScrew + 3
	}
	return m.coat.most() + max(long, 6)
}

// shaft adds head, neck and stem, and returns the span of the neck.
func (m *implant) shaft(r ray, head span, l *lengths) span {
	var neck span
	cones := m.neck
	if s := r.sphere(m.neckMid, m.neckR); s.b <= s.a {
		cones = nil
	}
	for _, c := range cones {
		s := c.cut(r)
		switch {
		case s.b <= s.a:
		case neck.b <= neck.a:
			neck = s
		default: // the cones are coaxial: their union along a ray is one span
			neck = span{min(neck.a, s.a), max(neck.b, s.b)}
		}
	}
	l[m.headIs] += head.minus(neck)
	own := neck.length()
	for _, c := range m.skirt {
		if s := c.cut(r); s.b > s.a {
			l[m.headIs] += max(0, s.length()-either(s.and(head), s.and(neck)))
			if neck.b > neck.a { // coaxial as well
				neck = span{min(neck.a, s.a), max(neck.b, s.b)}
			} else {
				neck = s
			}
		}
	}
	var body float64
	if m.side == nil {
		body, _ = m.stem.through(r)
	}
	for _, c := range m.side {
		body = max(body, c.cut(r).length())
	}
	l[m.stemIs] += max(own, body)
	if m.bed.plate != nil && m.side == nil {
		l[cement] += max(0, m.bed.grown(r, m.hip.Detail.StemBed)-body) * or(m.hip.Detail.Barium, 1)
	}
	return neck
}

// box returns the pixels of the window the implant can touch.
func (m *implant) box(v *view) (x0, y0, x1, y1 int) {
	lo, hi := vec{math.Inf(1), math.Inf(1), 0}, vec{math.Inf(-1), math.Inf(-1), 0}
	grow := func(p vec, r float64) {
		for _, d := range []vec{
			{-r, -r, r}, {r, -r, r}, {-r, r, r}, {r, r, r},
			{-r, -r, -r}, {r, -r, -r}, {-r, r, -r}, {r, r, -r},
		} {
			q := v.project(p.add(d))
			lo = vec{min(lo.x, q.X), min(lo.y, q.Y), 0}
			hi = vec{max(hi.x, q.X), max(hi.y, q.Y), 0}
		}
	}
	grow(m.cup, m.coat.most()+1+m.hip.Detail.FlangeMM)
	grow(m.head, m.headR+1)
	for _, c := range slices.Concat(m.neck, m.screws, m.side, m.cables(), m.skirt) {
		grow(c.from, 9)
		grow(c.from.at(c.axis, c.length), 9)
	}
	for _, p := range m.stem.plate.points() {
		grow(m.stem.frame.point(p[0]*m.stem.scale, p[1]*m.stem.scale, 0), 3+m.hip.Detail.StemBed)
	}
	return int(lo.x) - 1, int(lo.y) - 1, int(hi.x) + 2, int(hi.y) + 2
}

// ring returns the marker wire as short cylinders, or nil.
func (m *implant) ring() []cone {
	if m.hip.Cup != measure.Wire {
		return nil
	}
	const n = 360
	r := m.hip.wireRadius()
	u, v := m.opening.basis()
	d := m.hip.Detail
	p := func(i int) vec {
		s, c := math.Sincos(2 * math.Pi * float64(i%n) / n)
		return m.cup.at(u, r*c).at(v, r*s)
	}
	half := or(m.hip.WireMM, 1.2) / 2
	ring := chain(n, true, half, p)
	if d.GapDeg > 0 {
		first := int(mix(d.Variant+31) % n)
		ring = slices.Concat(ring, ring)[first : first+n-int(d.GapDeg)]
	}
	if d.DomeWire {
		ring = append(ring, chain(n/2+1, false, half, func(i int) vec {
			s, c := math.Sincos(2 * math.Pi * float64(i) / n)
			return m.cup.at(u, r*c).at(m.opening, -r*s)
		})...)
	}
	return ring
}

// wireRadius returns the radius of the wire's centre line.
func (h Hip) wireRadius() float64 { return (h.ShellMM - or(h.WireMM, 1.2)) / 2 }
