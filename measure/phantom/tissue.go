package phantom

import (
	"math"

	"linerwatch/measure"
)

// tissue is everything but the implants.
type tissue struct {
	view    *view
	bones   []laid
	body    placed
	full    float64 // thickness of the body
	usual   float64 // signal behind it, as a share of the open beam
	muscle  *layer
	heads   []socket
	texture float64
	grain   *tile
	gas     []bubble
	drift   [4]float64 // of the bowel's content over the noise
	limb    *limb      // of a lateral film, in place of body, bones and gas
	fluence [bins]float64
}

// socket is the hip joint's bone: the layer under the cartilage of the
// acetabulum.
type socket struct {
	cup     vec
	opening vec
	outer   float64
	inner   float64
	bone    vec // centre of the outer surface
}

// Joint is what native hips differ by. The zero value is a usual one.
type Joint struct {
	RadiusMM float64 // of the acetabulum; 0 for 26.5
	Dense    float64 // thickness of the dense bone under its cartilage, mm; 0 for 0.9
	Size     float64 // of the femur; 0 for 1
}

func (j Joint) socket(h Hip) socket {
	k := socket{cup: h.cupCenter(), bone: h.cupCenter(), opening: h.opening(), inner: 26.5, outer: 27.4}
	if j.RadiusMM > 0 || j.Dense > 0 {
		k.inner = or(j.RadiusMM, 26.5)
		k.outer = k.inner + or(j.Dense, 0.9)
	}
	return k
}

// bubble is a place where bowel holds gas, seen from the front.
type bubble struct{ x, y, rx, ry, thick float64 }

func newTissue(v *view) *tissue {
	s := v.s
	t := &tissue{
		view: v, bones: bones(s), full: or(s.BodyMM, usualBody),
		body:    placed{theAtlas().body, frame{x: vec{1, 0, 0}, y: vec{0, 1, 0}, z: vec{0, 0, 1}}, 0, 1},
		muscle:  theAtlas().muscle,
		texture: or(s.Texture, 1),
		grain:   newTile(mix(s.Patient + 77)),
		fluence: spectrum(s.Hardness),
	}
	t.usual = t.soft(t.full)
	// More fat makes the body wider too.
	t.body.scale = 1 + (t.full-usualBody)/900
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		h := Hip{Side: side, Inclination: 42, Anteversion: 16}
		k := s.Joint.socket(h)
		for _, r := range s.Hips {
			if r.Side == side {
				m := newImplant(r)
				k = m.socket()
			}
		}
		t.heads = append(t.heads, k)
	}
	u := func(k uint64) float64 { return float64(mix(s.Seed^mix(k))>>11) / (1 << 53) }
	for i := range t.drift {
		t.drift[i] = 200 * u(uint64(i))
	}
	// Rectum and sigmoid, caecum, descending colon.
	t.gas = []bubble{
		{x: -6 + 14*u(11), y: -62 + 16*u(12), rx: 24, ry: 44, thick: 15 + 30*u(13)},
		{x: -84 + 12*u(14), y: -112 + 20*u(15), rx: 30, ry: 36, thick: 15 + 34*u(16)},
		{x: 84 + 12*u(17), y: -118 + 30*u(18), rx: 18, ry: 52, thick: 15 + 32*u(19)},
		{x: -20 + 60*u(20), y: -150 + 20*u(21), rx: 52, ry: 22, thick: 15 + 30*u(22)},
	}
	if s.isLateral() {
		t.limb = newLimb(s, t.full)
	}
	return t
}

// path returns water, fat and cortical-equivalent bone along a ray; bone
// displaces water.
func (t *tissue) path(r ray) (w, f, b float64) {
	if t.limb != nil {
		return t.limb.path(t, r)
	}
	x, y, _ := t.body.local(r)
	d := t.body.plate.at(x, y)
	if d <= 0 {
		return 0, 0, 0
	}
	// The inner sides of the thighs are rounder than the flanks.
	d *= 1 + 1.8*ramp(y, 50, 120)*ramp(-math.Abs(x), -110, -40)
	all, inside := t.body.plate.thickness(d)
	thick := t.full / usualBody
	_, muscle := t.muscle.at(x, y)
	w, f = inside*thick+muscle, (all-inside)*thick
	if t.texture > 0 {
		w *= 1 + t.texture*0.008*(t.grain.at(x/23, y/31)+0.7*t.grain.at(x/9+50, y/11)+0.5*t.grain.at(x/3.7, y/4.1+9))
		w -= t.texture * t.wind(x, y)
	}
	b = t.bone(r)
	return max(0, w-b), f, b
}

// ramp rises smoothly from 0 at a to 1 at b.
func ramp(v, a, b float64) float64 {
	s := min(1, max(0, (v-a)/(b-a)))
	return s * s * (3 - 2*s)
}

// wind returns the thickness of bowel gas.
func (t *tissue) wind(x, y float64) (gas float64) {
	for _, g := range t.gas {
		dx, dy := (x-g.x)/g.rx, (y-g.y)/g.ry
		q := 1 - dx*dx - dy*dy
		if q <= 0 {
			continue
		}
		// Pockets: where a warped field is above a level that rises outwards.
		wx := x + 4*t.grain.at(x/25+t.drift[2], y/25)
		wy := y + 4*t.grain.at(x/22, y/22+t.drift[3])
		f := t.grain.at(wx/19+t.drift[0], wy/16+t.drift[1]) + 0.12*t.grain.at(wx/4, wy/4+t.drift[1])
		if p := f - 0.75 + 1.1*q; p > 0 {
			p = min(1, p/1.3)
			gas += g.thick * math.Sqrt(q) * p * p * (3 - 2*p)
		}
	}
	return gas
}

func (t *tissue) bone(r ray) float64 {
	var hard, soft float64
	for i := range t.bones {
		h, s := t.bones[i].through(r)
		hard += h
		soft += s
	}
	for _, k := range t.heads {
		if whole := r.sphere(k.bone, k.outer); whole.b > whole.a {
			dome := r.below(k.cup, k.opening)
			hard += whole.and(dome).length() - whole.and(r.sphere(k.cup, k.inner)).and(dome).length()
		}
	}
	if soft > 0 && t.texture > 0 {
		x, y, _ := t.body.local(r)
		soft *= 1 + t.texture*(0.06*t.grain.at(x/1.0, y/1.8)+0.07*t.grain.at((x+y)/3.4, (x-y)/1.1)+0.06*t.grain.at((x-y)/3.1+90, (x+y)/1.0)+0.08*t.grain.at(x/7, y/8))
	}
	return hard + max(0, soft)
}
