package phantom

import (
	"math"

	"linerwatch/measure"
)

// Course is how the head of one hip moves over the years: bedding-in, which
// settles as 1 - exp(-t/Settle), and wear at a steady rate.
type Course struct {
	BeddingIn float64 // mm, all of it in the end
	Settle    float64 // years; 0 for 0.25
	Rate      float64 // mm a year
	Direction float64 // of the penetration from superior, medial positive, degrees
}

// Penetration returns how far the head has moved at t years after surgery, mm.
func (c Course) Penetration(t float64) (superior, medial float64) {
	p := c.BeddingIn*(1-math.Exp(-t/or(c.Settle, 0.25))) + c.Rate*t
	s, k := math.Sincos(c.Direction * math.Pi / 180)
	return p * k, p * s
}

// Repositioning is how differently the patient lies from film to film, as
// standard deviations.
type Repositioning struct {
	ShiftMM float64 // of the patient along and across the table, each
	Degrees float64 // of tilt, rotation and roll, each
	BeamMM  float64 // of the central ray along and across, each
}

// Series returns one scene per time after surgery: scene with the head of its
// first hip moved along course from where scene has it, the patient lying anew,
// and other photon noise. The same arguments give the same series.
func Series(scene Scene, course Course, years []float64, again Repositioning) []Scene {
	out := make([]Scene, len(years))
	for i, t := range years {
		s := scene
		s.Seed = mix(scene.Seed ^ mix(uint64(i)+1))
		s.Hips = append([]Hip(nil), scene.Hips...)
		if len(s.Hips) > 0 {
			up, in := course.Penetration(t)
			s.Hips[0].Superior += up
			s.Hips[0].Medial += in
		}
		k := uint64(0)
		normal := func(sd float64) float64 {
			k++
			return sd * float64(normals()[mix(s.Seed^mix(k<<32))>>48])
		}
		s.ShiftX += normal(again.ShiftMM)
		s.ShiftY += normal(again.ShiftMM)
		s.Tilt += normal(again.Degrees)
		s.Rotation += normal(again.Degrees)
		s.Roll += normal(again.Degrees)
		s.BeamX += normal(again.BeamMM)
		s.BeamY += normal(again.BeamMM)
		out[i] = s
	}
	return out
}

// Plain returns the scene of a clear film of one hip.
func Plain(side measure.Side) Scene {
	s := Default()
	s.Hips = []Hip{DefaultHip(side)}
	return s
}

// Hard makes a scene the kind a reader complains of: an obese patient, more
// scatter, less dose, metal clipped to white, edges enhanced, a side marker and
// a collimated border.
func Hard(s Scene) Scene {
	s.BodyMM, s.Scatter, s.Dose, s.BlurMM = 300, 0.45, 15000, 0.4
	s.Clip, s.Enhance, s.Collimate, s.SideMarker = 0.8, 1.2, 15, true
	return s
}
