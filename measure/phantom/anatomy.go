package phantom

import (
	"sync"

	"linerwatch/measure"
)

// The outlines below are drawn freehand after the general look of a pelvis
// film, in mm: lateral from the midline (or from the head's centre for femur
// and stem) and caudal from the line between the hips. They carry no data of
// any person.

// atlas holds every plate with its distance grid.
type atlas struct {
	pelvis          []depicted
	middle          []depicted // both sides in one outline
	femur, cutFemur []depicted
	body, leg       *plate
	stem            *plate
}

// depicted is a plate with its depth in front of the hips, mm.
type depicted struct {
	*plate
	depth float64
}

func bonePlate(depth, round, full, cortex, spongy float64, loops ...[][2]float64) depicted {
	p := &plate{loops: loops, round: round, full: full, cortex: cortex, spongy: spongy}
	return depicted{p.build(1), depth}
}

// both mirrors the outline of one side to make a loop across the midline.
func both(half ...[2]float64) [][2]float64 {
	all := append([][2]float64{}, half...)
	for i := len(half) - 1; i >= 0; i-- {
		if half[i][0] > 0 {
			all = append(all, [2]float64{-half[i][0], half[i][1]})
		}
	}
	return spline(all...)
}

var theAtlas = sync.OnceValue(func() *atlas {
	return &atlas{
		pelvis: pelvisPlates(), middle: middlePlates(),
		femur: femurPlates(), cutFemur: cutFemurPlates(),
		body: bodyPlate(), stem: newStemPlate(),
	}
})

func stemPlate() *plate { return theAtlas().stem }

func pelvisPlates() []depicted {
	return []depicted{
		// The iliac wing down to the acetabulum.
		bonePlate(0, 7, 8, 1.5, 0.16, spline(
			[2]float64{44, -62}, [2]float64{37, -92}, [2]float64{42, -122}, [2]float64{62, -146},
			[2]float64{92, -155}, [2]float64{122, -142}, [2]float64{140, -112}, [2]float64{138, -88},
			[2]float64{127, -70}, [2]float64{121, -45}, [2]float64{119, -26}, [2]float64{106, -22},
			[2]float64{84, -24}, [2]float64{68, -32}, [2]float64{60, -48})),
		// The thick bone above the acetabulum.
		bonePlate(-5, 20, 26, 1.0, 0.17, spline(
			[2]float64{62, -62}, [2]float64{82, -92}, [2]float64{108, -78}, [2]float64{119, -44},
			[2]float64{120, -20}, [2]float64{108, -20}, [2]float64{90, -26}, [2]float64{72, -26}, [2]float64{62, -36})),
		// The back of the ilium at the sacroiliac joint.
		bonePlate(-45, 12, 17, 1.2, 0.16, spline(
			[2]float64{34, -100}, [2]float64{42, -130}, [2]float64{58, -128}, [2]float64{64, -98},
			[2]float64{62, -66}, [2]float64{50, -58}, [2]float64{42, -72})),
		// The crest.
		bonePlate(5, 5, 11, 1.4, 0.16, spline(
			[2]float64{42, -122}, [2]float64{60, -148}, [2]float64{92, -158}, [2]float64{124, -145},
			[2]float64{143, -112}, [2]float64{140, -90}, [2]float64{134, -94}, [2]float64{133, -113},
			[2]float64{117, -137}, [2]float64{92, -147}, [2]float64{66, -139}, [2]float64{50, -119})),
		// The quadrilateral surface and the posterior column down to the ischium.
		bonePlate(-20, 12, 24, 1.0, 0.17, spline(
			[2]float64{62, -50}, [2]float64{82, -40}, [2]float64{102, -24}, [2]float64{112, -2},
			[2]float64{108, 18}, [2]float64{97, 34}, [2]float64{90, 54}, [2]float64{84, 72},
			[2]float64{70, 82}, [2]float64{58, 76}, [2]float64{59, 58}, [2]float64{66, 38},
			[2]float64{66, 14}, [2]float64{62, -8}, [2]float64{60, -30})),
		// The superior ramus and the body of the pubis.
		bonePlate(25, 8, 15, 1.2, 0.16, spline(
			[2]float64{5, 20}, [2]float64{18, 13}, [2]float64{40, 2}, [2]float64{60, -18},
			[2]float64{72, -30}, [2]float64{90, -26}, [2]float64{96, -8}, [2]float64{84, 8},
			[2]float64{68, 14}, [2]float64{48, 22}, [2]float64{30, 33}, [2]float64{22, 46},
			[2]float64{14, 58}, [2]float64{5, 56}, [2]float64{3, 38})),
		// The inferior ramus.
		bonePlate(5, 6, 11, 1.3, 0.16, spline(
			[2]float64{6, 46}, [2]float64{18, 42}, [2]float64{28, 54}, [2]float64{42, 66},
			[2]float64{62, 70}, [2]float64{76, 70}, [2]float64{72, 83}, [2]float64{54, 82},
			[2]float64{34, 74}, [2]float64{18, 66}, [2]float64{7, 58})),
		// The pelvic brim and the teardrop.
		bonePlate(0, 1.6, 5, 1.6, 1, spline(
			[2]float64{56, -62}, [2]float64{63, -44}, [2]float64{65, -22}, [2]float64{63, 0},
			[2]float64{61.5, 0}, [2]float64{62, -22}, [2]float64{60, -42}, [2]float64{53, -60})),
		bonePlate(5, 2.4, 7, 1.5, 0.2, spline(
			[2]float64{62, 4}, [2]float64{68, 2}, [2]float64{70, 12}, [2]float64{67, 22},
			[2]float64{63, 21}, [2]float64{61, 12})),
	}
}

func middlePlates() []depicted {
	return []depicted{
		// Sacrum and coccyx.
		bonePlate(-55, 24, 26, 1.0, 0.15, both(
			[2]float64{0, -118}, [2]float64{22, -124}, [2]float64{42, -122}, [2]float64{53, -108},
			[2]float64{50, -84}, [2]float64{42, -64}, [2]float64{28, -46}, [2]float64{14, -32},
			[2]float64{8, -18}, [2]float64{5, -2}, [2]float64{0, 3})),
		// The last lumbar vertebra.
		bonePlate(-20, 10, 34, 1.2, 0.14, both(
			[2]float64{0, -122}, [2]float64{18, -124}, [2]float64{26, -128}, [2]float64{24, -142},
			[2]float64{27, -156}, [2]float64{14, -159}, [2]float64{0, -158})),
		bonePlate(-40, 5, 9, 1.2, 0.16, both(
			[2]float64{0, -136}, [2]float64{28, -140}, [2]float64{48, -148}, [2]float64{52, -141},
			[2]float64{44, -132}, [2]float64{24, -126}, [2]float64{0, -128})),
		bonePlate(-20, 10, 34, 1.2, 0.14, both(
			[2]float64{0, -166}, [2]float64{16, -165}, [2]float64{27, -168}, [2]float64{23, -182},
			[2]float64{26, -199}, [2]float64{12, -202}, [2]float64{0, -201})),
	}
}

func femurPlates() []depicted {
	return []depicted{
		bonePlate(0, 15, 30, 3.2, 0.15, spline(
			[2]float64{12, -19}, [2]float64{24, -9}, [2]float64{34, -2}, [2]float64{44, -10},
			[2]float64{54, -10}, [2]float64{62, 6}, [2]float64{64, 24}, [2]float64{61, 48},
			[2]float64{58, 80}, [2]float64{55, 130}, [2]float64{50, 220}, [2]float64{46, 330},
			[2]float64{18, 330}, [2]float64{22, 220}, [2]float64{27, 130}, [2]float64{27, 86},
			[2]float64{22, 70}, [2]float64{20, 58}, [2]float64{24, 46}, [2]float64{16, 30},
			[2]float64{6, 20}, [2]float64{-4, 12}, [2]float64{-6, -8})),
		lesserTrochanter(),
	}
}

func lesserTrochanter() depicted {
	return bonePlate(-12, 6, 12, 0.8, 0.2, spline(
		[2]float64{28, 46}, [2]float64{20, 54}, [2]float64{17, 63}, [2]float64{21, 72}, [2]float64{29, 82}, [2]float64{34, 64}))
}

func cutFemurPlates() []depicted {
	return []depicted{
		bonePlate(0, 15, 30, 3.2, 0.13, spline(
			[2]float64{35, 4}, [2]float64{44, -8},
			[2]float64{54, -8}, [2]float64{62, 6}, [2]float64{64, 24}, [2]float64{61, 48},
			[2]float64{58, 80}, [2]float64{55, 130}, [2]float64{50, 220}, [2]float64{46, 330},
			[2]float64{18, 330}, [2]float64{22, 220}, [2]float64{27, 130}, [2]float64{27, 86},
			[2]float64{22, 70}, [2]float64{20, 58}, [2]float64{22, 46}, [2]float64{19, 38}, [2]float64{24, 28})),
		lesserTrochanter(),
	}
}

func newStemPlate() *plate {
	p := &plate{round: 7, full: 13, loops: [][][2]float64{spline(
		[2]float64{24, 24}, [2]float64{34, 13}, [2]float64{43, 15}, [2]float64{50, 27},
		[2]float64{50, 50}, [2]float64{48, 90}, [2]float64{45, 130}, [2]float64{43, 152},
		[2]float64{40, 159}, [2]float64{36, 157}, [2]float64{34, 148}, [2]float64{34, 120}, [2]float64{33, 85},
		[2]float64{30, 60}, [2]float64{26, 42}, [2]float64{22, 31})}}
	return p.build(0.5)
}

// bodyPlate has a layer of fat for its cortex.
func bodyPlate() *plate {
	p := &plate{round: 95, full: usualBody, cortex: 20, loops: [][][2]float64{both(
		[2]float64{0, -330}, [2]float64{140, -330}, [2]float64{172, -250}, [2]float64{166, -190},
		[2]float64{178, -120}, [2]float64{192, -50}, [2]float64{198, 20}, [2]float64{194, 90},
		[2]float64{184, 170}, [2]float64{168, 260}, [2]float64{140, 380}, [2]float64{40, 380},
		[2]float64{18, 260}, [2]float64{8, 150}, [2]float64{0, 84})}}
	return p.build(2)
}

// bones returns the bones of a scene in the patient.
func bones(s Scene) []placed {
	a := theAtlas()
	var out []placed
	pelvic := frame{x: vec{1, 0, 0}, y: vec{0, 1, 0}, z: vec{0, 0, 1}}
	for _, p := range a.middle {
		out = append(out, placed{p.plate, pelvic, p.depth, 1})
	}
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		f := pelvic
		f.x = vec{-side.Medial(), 0, 0}
		for _, p := range a.pelvis {
			out = append(out, placed{p.plate, f, p.depth, 1})
		}
		leg, femur := newLeg(side, vec{-92 * side.Medial(), 0, 0}, 0), a.femur
		for _, h := range s.Hips {
			if h.Side == side {
				leg, femur = newLeg(side, h.headCenter(), h.Abduction), a.cutFemur
			}
		}
		for _, p := range femur {
			out = append(out, placed{p.plate, leg, p.depth, 1})
		}
	}
	return out
}
// usualBody is the thickness of the pelvis from front to back, mm.
const usualBody = 205
