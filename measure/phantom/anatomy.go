package phantom

import (
	"sync"

	"linerwatch/measure"
)

// The outlines here are drawn freehand after the general look of a pelvis
// film, in mm: lateral from the midline (or from the head's centre for femur
// and stem) and caudal from the line between the hips. They carry no data of
// any person.

// at is a point of an outline.
type at = [2]float64

// atlas holds everything drawn, on its grids.
type atlas struct {
	pelvis          []*layer // one side
	middle          []*layer
	femur, cutFemur *layer
	body            *plate
	muscle          *layer // water, mm
	stem            *plate
}

// theAtlas draws the anatomy once; it never changes after.
var theAtlas = sync.OnceValue(func() *atlas {
	var a atlas
	var wg sync.WaitGroup
	wg.Go(func() { a.pelvis = []*layer{hipBone(), frontOfPelvis(), backOfPelvis()} })
	wg.Go(func() { a.middle = []*layer{sacrum(), lumbar()} })
	wg.Go(func() { a.femur, a.cutFemur = femur(), cutFemur() })
	wg.Go(func() { a.body, a.muscle, a.stem = bodyPlate(), muscle(), newStemPlate() })
	wg.Wait()
	return &a
})

func stemPlate() *plate { return theAtlas().stem }

// both mirrors the outline of one side to make a loop across the midline.
func both(half ...at) [][2]float64 {
	all := append([]at{}, half...)
	for i := len(half) - 1; i >= 0; i-- {
		if half[i][0] > 0 {
			all = append(all, at{-half[i][0], half[i][1]})
		}
	}
	return spline(all...)
}

// hipBone is the outline of ilium, ischium and pubis with their thick parts.
func hipBone() *layer {
	return bake(0, 1.5,
		solid(6, 8.5, 1.25, 0.15, spline(
			at{4, 20}, at{19, 12}, at{38, 1}, at{54, -13}, at{63, -30}, at{62, -47}, at{54, -61},
			at{45, -72}, at{37, -88}, at{34, -106}, at{41, -127}, at{59, -144}, at{86, -154}, at{112, -149},
			at{131, -132}, at{141, -108}, at{142, -94}, at{135, -83}, at{127, -70}, at{127, -54}, at{121, -39},
			at{119, -22}, at{115, -9}, at{111, 8}, at{105, 22}, at{97, 32}, at{93, 45}, at{91, 60},
			at{85, 74}, at{76, 83}, at{64, 83}, at{50, 79}, at{36, 73}, at{22, 66}, at{10, 60}, at{4, 52}, at{3, 38}),
			spline(at{29, 34}, at{43, 23}, at{59, 19}, at{67, 28}, at{68, 43}, at{62, 58}, at{52, 64}, at{40, 60}, at{31, 48})),
		// Above the acetabulum, and the pillar up to the crest.
		swell(30, 6.5, spline(at{56, -58}, at{74, -96}, at{112, -96}, at{126, -66}, at{124, -20}, at{100, -10}, at{66, -14}, at{58, -36})),
		swell(18, 3.0, spline(at{88, -70}, at{98, -145}, at{124, -144}, at{140, -112}, at{128, -66})),
		swell(5, 2.6, spline(at{40, -124}, at{59, -145}, at{86, -155}, at{112, -150}, at{132, -132}, at{142, -107}, at{143, -93},
			at{135, -92}, at{132, -108}, at{124, -127}, at{108, -141}, at{86, -146}, at{63, -137}, at{48, -120})),
		// The dense roof of the acetabulum.
		stroke(7, 3.4, at{68, -22}, at{80, -28.5}, at{94, -30.5}, at{107, -27}, at{119, -19}),
		// Behind the acetabulum down to the tuberosity.
		swell(15, 6.0, spline(at{58, -46}, at{84, -36}, at{108, -10}, at{108, 14}, at{97, 34}, at{92, 60},
			at{82, 82}, at{62, 83}, at{63, 60}, at{69, 34}, at{64, 10}, at{61, -16})),
		// The floor of the wing is thin.
		swell(16, -1.3, spline(at{66, -88}, at{72, -124}, at{92, -130}, at{104, -112}, at{92, -88}, at{78, -78})),
		stroke(3.2, 2.4, at{70, 24}, at{68.5, 44}, at{62, 60}, at{52, 66}, at{40, 62}),
	)
}

// frontOfPelvis is the pubis, the brim, and the front wall of the acetabulum.
func frontOfPelvis() *layer {
	return bake(26, 1.7,
		swell(9, 4.2, spline(at{4, 18}, at{20, 12}, at{40, 0}, at{56, -15}, at{70, -28}, at{96, -22}, at{100, -6}, at{84, 10}, at{62, 19}, at{44, 23}, at{29, 33}, at{20, 52}, at{5, 56})),
		swell(6, 2.4, spline(at{4, 20}, at{18, 16}, at{25, 34}, at{17, 56}, at{5, 58})),
		stroke(3.4, 3.6, at{47, -66}, at{58, -50}, at{62, -34}, at{57, -18}, at{40, -2}, at{20, 11}),
		stroke(3.4, 2.4, at{119, -20}, at{108, -8}, at{94, 5}, at{80, 13}, at{66, 17}),
		stroke(3.0, 1.6, at{30, 31}, at{44, 21}, at{62, 16}, at{76, 14}),
	)
}

// backOfPelvis is the back of the ilium, the posterior column and wall, the
// spine of the ischium and the teardrop.
func backOfPelvis() *layer {
	return bake(-30, 1.7,
		swell(11, 3.8, spline(at{35, -104}, at{44, -130}, at{60, -124}, at{68, -92}, at{66, -60}, at{50, -58}, at{41, -74})),
		stroke(3.2, 3.0, at{38, -122}, at{44, -100}, at{47, -82}, at{56, -62}),
		stroke(3.0, 3.2, at{60, -52}, at{66, -26}, at{67.5, 2}, at{69.5, 30}, at{71, 58}),
		stroke(3.4, 2.8, at{121, -16}, at{119, 2}, at{111, 19}, at{99, 34}),
		stroke(2.6, 3.4, at{65, -2}, at{63.5, 9}, at{66, 20}, at{70, 20}, at{72, 8}, at{71.5, -4}),
		swell(5, 2.2, spline(at{66, 0}, at{56, 4}, at{51, 10}, at{57, 14}, at{68, 20})),
	)
}

func sacrum() *layer {
	parts := []part{
		solid(26, 24, 0.7, 0.16, both(at{0, -116}, at{20, -121}, at{40, -121}, at{53, -110},
			at{52, -86}, at{45, -66}, at{31, -48}, at{17, -34}, at{9, -20}, at{6, -4}, at{0, 2})),
		stroke(6, 1.8, at{0, -116}, at{0.5, -96}, at{-0.5, -76}, at{0, -58}, at{0, -38}),
	}
	for i, y := range []float64{-101, -83, -66, -51} {
		x := 20.5 - 2.2*float64(i)
		r := 5.6 - 0.6*float64(i)
		for _, s := range []float64{-1, 1} {
			parts = append(parts,
				swell(4, -2.6, disc(s*x, y, r*1.25, r, -20*s)),
				stroke(2.4, 2.6, at{s * (x - 11), y - 1}, at{s * (x - 5), y - r}, at{s * x, y - r - 1.2}, at{s * (x + 6), y - r + 1}, at{s * (x + 11), y + 2}))
		}
	}
	for _, y := range []float64{-26, -16, -7} {
		parts = append(parts, swell(1.5, -1.6, disc(0, y, 7, 1.5, 0)))
	}
	return bake(-50, 1.7, parts...)
}

func lumbar() *layer {
	var parts []part
	for _, y := range []float64{0, -41, -82} {
		up := func(half ...at) [][2]float64 {
			for i := range half {
				half[i][1] += y
			}
			return both(half...)
		}
		parts = append(parts,
			solid(12, 22, 1.0, 0.13, up(at{0, -121}, at{17, -122}, at{26.5, -125}, at{24.5, -133}, at{24, -141}, at{27, -152}, at{15, -155}, at{0, -154.5})),
			swell(5, 2.5, up(at{0, -137}, at{26, -138}, at{44, -147}, at{51, -143}, at{44, -134}, at{24, -129}, at{0, -131})),
			swell(4, 3.6, up(at{0, -140}, at{4, -136}, at{4.5, -122}, at{0, -116})))
		for _, s := range []float64{-1, 1} {
			parts = append(parts,
				stroke(2.4, 3, at{s * 12, y - 142}, at{s * 12.5, y - 135}, at{s * 16.5, y - 131.5}, at{s * 20.5, y - 135}, at{s * 21, y - 142}, at{s * 17, y - 146}, at{s * 12.5, y - 143.5}),
				swell(5, 2.2, disc(s*15, y-124, 6, 10, 8*s)))
		}
	}
	return bake(-20, 1.5, parts...)
}

// shaftOf makes p a long bone whose cortex thickens downwards.
func shaftOf(p part) part {
	p.shaft, p.from, p.to, p.cortexTo, p.spongyTo = true, 35, 125, 6.8, 0.03
	return p
}

func trochanters() []part {
	return []part{
		swell(7, 5.5, spline(at{28, 40}, at{18, 52}, at{12.5, 62}, at{17, 71}, at{27, 84}, at{38, 66})),
		swell(10, 3.4, spline(at{40, -12}, at{54, -12}, at{63, 8}, at{62, 28}, at{50, 30}, at{40, 8})),
		stroke(5, 2.6, at{43, -2}, at{41, 14}, at{36, 34}, at{27, 54}),
	}
}

func femur() *layer {
	outline := spline(
		at{10, -19}, at{20, -11}, at{29, -4}, at{36, -2}, at{43, -9},
		at{53, -11}, at{61, -1}, at{64.5, 16}, at{63, 34}, at{60, 52},
		at{58, 80}, at{55, 130}, at{50, 220}, at{46, 330},
		at{18, 330}, at{21, 220}, at{26, 130}, at{26, 90},
		at{23, 74}, at{21, 62}, at{22, 50}, at{20, 38}, at{16, 28},
		at{10.5, 21}, at{7.5, 12}, at{7, 0}, at{8, -12})
	bone := part{plate: &plate{loops: [][][2]float64{outline}, round: 15, full: 29, cortex: 1.3, pad: 32}, spongy: 0.135, ball: 24}
	bone.plate.build(1)
	parts := append(trochanters(), shaftOf(bone),
		// The calcar and the trabeculae from it to the head.
		stroke(5, 4.5, at{8, 21}, at{15, 29}, at{21, 41}, at{24, 58}, at{26, 82}),
		stroke(18, 2.0, at{-2, -14}, at{2, 4}, at{12, 18}, at{20, 36}),
		stroke(16, 1.0, at{-10, 4}, at{8, -8}, at{28, 0}, at{46, 18}, at{56, 44}))
	return bake(0, 1.2, parts...)
}

func cutFemur() *layer {
	parts := append(trochanters(),
		shaftOf(solid(15, 29, 1.5, 0.15, spline(
			at{37, 5}, at{40, -4}, at{46, -10},
			at{54, -10}, at{61, -1}, at{64.5, 16}, at{63, 34}, at{60, 52},
			at{58, 80}, at{55, 130}, at{50, 220}, at{46, 330},
			at{18, 330}, at{21, 220}, at{26, 130}, at{26, 90},
			at{23, 74}, at{21, 62}, at{22, 50}, at{20, 40}, at{18.5, 36}, at{22, 31}, at{30, 20}))),
		stroke(5, 4.5, at{19, 37}, at{22, 46}, at{24, 58}, at{26, 82}))
	return bake(0, 1.2, parts...)
}

func newStemPlate() *plate { return stemShape(0) }

// stemBedPlate is the stem with room around it for cement.
var stemBedPlate = sync.OnceValue(func() *plate { return stemShape(6) })

func stemShape(pad float64) *plate {
	p := &plate{pad: pad, round: 6, full: 12, loops: [][][2]float64{spline(
		at{23.2, 30}, at{29, 24}, at{34.5, 18.6}, at{40.5, 19}, at{45.3, 23}, at{48, 30},
		at{48.6, 42}, at{48, 60}, at{46.2, 95}, at{44.2, 125}, at{42.8, 147},
		at{41.2, 155}, at{38.8, 157.2}, at{36.4, 154}, at{35.8, 146}, at{34.8, 120}, at{33.2, 90},
		at{30.8, 62}, at{27.6, 45}, at{24.4, 35})}}
	return p.build(0.5)
}

// usualBody is the thickness of the pelvis from front to back, mm.
const usualBody = 205

// bodyPlate has a layer of fat for its cortex.
func bodyPlate() *plate {
	p := &plate{round: 78, full: usualBody, cortex: 22, loops: [][][2]float64{both(
		at{0, -330}, at{140, -330}, at{186, -250}, at{178, -190},
		at{188, -120}, at{206, -50}, at{214, 20}, at{210, 90},
		at{198, 170}, at{180, 260}, at{150, 380}, at{40, 380},
		at{12, 260}, at{5, 160}, at{2, 110}, at{0, 100})}}
	return p.build(2)
}

// muscle is soft tissue that stands out from what is around it, in mm of water.
func muscle() *layer {
	parts := []part{swell(22, 16, disc(0, -2, 52, 36, 0))} // the bladder
	for _, s := range []float64{-1, 1} {
		mirror := func(p ...at) [][2]float64 {
			for i := range p {
				p[i][0] *= s
			}
			return spline(p...)
		}
		parts = append(parts,
			// Psoas, gluteal muscles, hamstrings and adductors, and the fat between.
			swell(11, 9, mirror(at{22, -330}, at{44, -330}, at{62, -160}, at{78, -80}, at{96, -20}, at{86, 30}, at{62, 62}, at{54, 40}, at{64, -10}, at{50, -80}, at{30, -170})),
			swell(22, 17, mirror(at{96, -140}, at{146, -104}, at{176, -60}, at{172, -12}, at{152, 6}, at{132, -24}, at{120, -70})),
			swell(22, 11, mirror(at{36, 54}, at{70, 72}, at{100, 100}, at{96, 200}, at{78, 330}, at{30, 330}, at{10, 190}, at{10, 106})),
			swell(16, 9, mirror(at{150, 40}, at{176, 60}, at{176, 160}, at{160, 330}, at{120, 330}, at{128, 120})),
			swell(6, -7, mirror(at{112, -52}, at{122, -48}, at{131, -14}, at{126, -6}, at{120, -18})))
	}
	return bake(0, 1, parts...)
}

// build is how one patient differs from another. The hips stay where they are.
type build struct{ height, lean, dense float64 }

func newBuild(patient uint64) build {
	if patient == 0 {
		return build{height: 1, dense: 1}
	}
	u := func(k uint64) float64 { return 2*float64(mix(patient^mix(k))>>11)/(1<<53) - 1 }
	return build{height: 1 + 0.06*u(1), lean: 0.012 * u(2), dense: 1 + 0.18*u(3)}
}

// bones returns the bones of a scene in the patient.
func bones(s Scene) []laid {
	a, b := theAtlas(), newBuild(s.Patient)
	var out []laid
	pelvic := frame{x: vec{1, 0, 0}, y: vec{0, 1, 0}, z: vec{0, 0, 1}}
	for _, l := range a.middle {
		p := pelvic.lay(l)
		p.height, p.dense = b.height, b.dense
		out = append(out, p)
	}
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		f := pelvic
		f.x = vec{-side.Medial(), 0, 0}
		for _, l := range a.pelvis {
			p := f.lay(l)
			p.height, p.dense = b.height+b.lean*side.Medial(), b.dense
			out = append(out, p)
		}
		leg := newLeg(side, Hip{Side: side}.cupCenter(), 0).lay(a.femur)
		leg.wide, leg.height = or(s.Joint.Size, 1), or(s.Joint.Size, 1)
		for _, h := range s.Hips {
			if h.Side == side {
				leg = newLeg(side, h.headCenter(), h.Abduction).lay(a.cutFemur)
			}
		}
		leg.dense = b.dense
		out = append(out, leg)
	}
	return out
}
