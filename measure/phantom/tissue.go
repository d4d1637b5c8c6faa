package phantom

import (
	"math"

	"linerwatch/measure"
)

// tissue is everything but the implants.
type tissue struct {
	view    *view
	bones   []placed
	body    placed
	full    float64 // thickness of the body
	heads   []socket
	texture float64
	grain   *tile
	gas     []bubble
}

// socket is the hip joint's bone: the layer under the cartilage of the
// acetabulum, and the native head where there is one.
type socket struct {
	cup     vec
	opening vec
	outer   float64
	inner   float64
	head    bool
}

// bubble is gas in the bowel, an ellipsoid seen from the front.
type bubble struct{ x, y, rx, ry, thick float64 }

func newTissue(v *view) *tissue {
	s := v.s
	t := &tissue{
		view: v, bones: bones(s), full: or(s.BodyMM, usualBody),
		body:    placed{theAtlas().body, frame{x: vec{1, 0, 0}, y: vec{0, 1, 0}, z: vec{0, 0, 1}}, 0, 1},
		texture: or(s.Texture, 1),
		grain:   newTile(mix(s.Patient + 77)),
	}
	// More fat makes the body wider too.
	t.body.scale = 1 + (t.full-usualBody)/900
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		h := Hip{Side: side, Inclination: 42, Anteversion: 16}
		k := socket{cup: h.cupCenter(), opening: h.opening(), inner: 26.5, outer: 28.2, head: true}
		for _, r := range s.Hips {
			if r.Side == side {
				m := newImplant(r)
				k = socket{m.cup, m.opening, m.outer + 1.2, m.outer, false}
			}
		}
		t.heads = append(t.heads, k)
	}
	for i := range uint64(9) {
		u := func(k uint64) float64 { return float64(mix(s.Seed^mix(i*16+k))>>11) / (1 << 53) }
		r := 6 + 10*u(0)
		t.gas = append(t.gas, bubble{
			x: -70 + 140*u(1), y: -140 + 100*u(2)*u(2), rx: r * (0.8 + 0.6*u(3)), ry: r * (0.7 + 0.5*u(4)), thick: r * 1.1,
		})
	}
	return t
}

// path returns water, fat and cortical-equivalent bone along a ray; bone
// displaces water.
func (t *tissue) path(r ray) (w, f, b float64) {
	all, inside := t.body.through(r)
	if all <= 0 {
		return 0, 0, 0
	}
	x, y, _ := t.body.local(r)
	thick := t.full / usualBody / t.body.scale
	w, f = inside*thick, (all-inside)*thick
	if t.texture > 0 {
		w *= 1 + t.texture*0.006*(t.grain.at(x/23, y/31)+0.7*t.grain.at(x/9+50, y/11)+0.5*t.grain.at(x/3.7, y/4.1+9))
		for _, g := range t.gas {
			dx, dy := (x-g.x)/g.rx, (y-g.y)/g.ry
			wobble := 0.25 * t.grain.at(x/14+g.x, y/14)
			if q := 1 - dx*dx - dy*dy + wobble; q > 0 {
				w -= t.texture * g.thick * math.Min(1, math.Sqrt(q)) * math.Min(1, 2*q)
			}
		}
	}
	b = t.bone(r)
	return math.Max(0, w-b), f, b
}

func (t *tissue) bone(r ray) float64 {
	var hard, soft float64
	for i := range t.bones {
		all, inside := t.bones[i].through(r)
		hard += all - inside
		soft += inside * t.bones[i].plate.spongy
	}
	for _, k := range t.heads {
		dome := r.below(k.cup, k.opening)
		hard += r.sphere(k.cup, k.outer).and(dome).length() - r.sphere(k.cup, k.inner).and(dome).length()
		if k.head {
			in := r.sphere(k.cup, 23.2).length()
			hard += r.sphere(k.cup, 24).length() - in
			soft += in * 0.17
		}
	}
	if soft > 0 && t.texture > 0 {
		x, y, _ := t.body.local(r)
		soft *= 1 + t.texture*(0.10*t.grain.at(x/1.1, y/1.7)+0.10*t.grain.at((x+y)/2.6, (x-y)/1.2)+0.08*t.grain.at(x/0.6, y/0.6))
	}
	return hard + math.Max(0, soft)
}
