package phantom

import (
	"fmt"
	"image"
	"math"

	"linerwatch/measure"
)

// Scene is everything that determines one film. Use Default and change what
// matters; the zero value of every field below Hips is a plain default.
type Scene struct {
	Width, Height int     // pixels
	Spacing       float64 // detector mm per pixel
	SourceImage   float64 // source to detector, mm
	SourceHip     float64 // source to the plane of the hips, mm
	Bits          int     // bits stored, 10 to 16
	Seed          uint64  // photon noise and bowel gas: another film
	Hips          []Hip   // replaced hips; a side without one gets a native femoral head

	// Window is the part of the detector to render, in pixels; empty for all of
	// it. Pixels and truth then count from Window.Min, and each rendered pixel
	// has the value it has on the whole film, but for Enhance near the edges.
	Window image.Rectangle

	BeamX, BeamY   float64 // central ray from the film's centre, mm on the detector
	ShiftX, ShiftY float64 // the patient from the usual place (hips 30 mm below the central ray), mm at the hips
	Tilt           float64 // of the pelvis about its transverse axis, degrees, positive top forward
	Rotation       float64 // about its long axis, degrees, positive left side forward
	Roll           float64 // in the plane of the film, degrees, positive clockwise on the film

	// Lateral makes it a cross-table lateral film of that hip, SourceHip in front of
	// it, with the beam angled towards the head by Obliquity degrees. Tilt, Rotation
	// and Roll then turn the patient before.
	Lateral   measure.Side
	Obliquity float64

	Patient uint64  // build, bone density and texture: another patient
	BodyMM  float64 // front-to-back thickness of the pelvis; 0 for 205 mm
	Scatter float64 // scattered part of the signal behind the patient; 0 for 0.2, negative for none
	Dose    float64 // photons per mm² behind the soft tissue of the pelvis; 0 for 60000, negative for no noise
	BlurMM  float64 // full width at half maximum on the detector; 0 for 0.3 mm, negative for none
	Texture float64 // strength of texture and gas; 0 for 1, negative for none

	Enhance    float64 // unsharp edge enhancement as a processing station adds; 0 for none
	Clip       float64 // share of the grey range above which all is white; 0 for none
	Collimate  float64 // width of an unexposed border, mm on the detector; 0 for none
	SideMarker bool    // a lead letter beside the patient

	Hardness float64  // of the beam: -1 for some 65 kV, 0 for 80, 1 for some 100
	Pieces   []Piece  // metal besides the implants
	Letters  []Letter // lead letters
	Blades   []Blade  // of the collimator
	Joint    Joint    // of the native hips
}

// Hip is one replaced hip in a scene. The zero value of every field below
// Anteversion is a plain default.
type Hip struct {
	Side        measure.Side
	HeadMM      float64         // head diameter, mm
	ShellMM     float64         // outer diameter of shell, or of the wire ring, mm
	Cup         measure.CupKind // shell or wire
	Superior    float64         // head centre relative to the cup's centre, mm
	Medial      float64
	Anterior    float64
	Inclination float64 // of the cup, radiographic, degrees
	Anteversion float64

	HeadMaterial  Material // CoCr, Alumina or Steel; empty for CoCr
	ShellMaterial Material // Titanium or CoCr; empty for Titanium
	StemMaterial  Material // Titanium, CoCr or Steel; empty for Titanium
	WallMM        float64  // wall of the shell; 0 for 4 mm
	RimMM         float64  // the rim's plane out of the cup's centre; below 0 for less than a hemisphere
	WireMM        float64  // diameter of the marker wire; 0 for 1.2 mm
	Screws        int      // screws through the shell, up to 3
	Holes         bool     // empty screw holes in the shell
	Lateral       float64  // cup centre from the midline, mm; 0 for 92
	Caudal        float64  // cup centre below the line between native hips, mm
	Abduction     float64  // of the leg, degrees
	StemScale     float64  // size of the stem's body; 0 for 1
	Detail        Detail
}

// SceneError is the error of a scene that cannot be rendered.
type SceneError struct{ Field, Reason string }

func (e *SceneError) Error() string { return "phantom: " + e.Field + ": " + e.Reason }

// Default returns a plain scene without a replaced hip: an AP pelvis film of
// 2880 x 2400 pixels of 0.148 mm, source to film 1150 mm, source to hips 1000 mm.
func Default() Scene {
	return Scene{
		Width: 2880, Height: 2400, Spacing: 0.148,
		SourceImage: 1150, SourceHip: 1000, Bits: 14,
	}
}

// DefaultHip returns a plain total hip replacement of the given side: a 28 mm
// cobalt-chromium head in a 54 mm titanium shell at 42 degrees of inclination
// and 14 degrees of anteversion, head and cup concentric.
func DefaultHip(side measure.Side) Hip {
	return Hip{Side: side, HeadMM: 28, ShellMM: 54, Cup: measure.Shell, Inclination: 42, Anteversion: 14}
}

// Around returns s with its window set to the square of the given side length
// in millimetres on the detector around the cup of the given side, as far as it
// is on the film; a hip off the film leaves the whole film.
func (s Scene) Around(side measure.Side, mm float64) Scene {
	c := s.hipOf(side).cupCenter()
	s.Window = image.Rectangle{}
	p := newView(s).project(c)
	half := mm / 2 / s.Spacing
	r := image.Rect(int(p.X-half), int(p.Y-half), int(p.X+half), int(p.Y+half))
	s.Window = r.Intersect(image.Rect(0, 0, s.Width, s.Height))
	return s
}

// bounds returns the part of the detector to render.
func (s Scene) bounds() image.Rectangle {
	if s.Window.Empty() {
		return image.Rect(0, 0, s.Width, s.Height)
	}
	return s.Window
}

// or returns v, def where v is zero, and 0 where v is negative.
func or(v, def float64) float64 {
	switch {
	case v == 0:
		return def
	case v < 0:
		return 0
	}
	return v
}

// check is one rule about one number of a scene.
type check struct {
	field       string
	v, min, max float64
}

func run(checks []check) error {
	for _, c := range checks {
		if math.IsNaN(c.v) || c.v < c.min || c.v > c.max {
			return &SceneError{c.field, fmt.Sprintf("%g is outside %g to %g", c.v, c.min, c.max)}
		}
	}
	return nil
}

// Validate returns a *SceneError for the first thing wrong with s, or nil.
func (s Scene) Validate() error {
	err := run([]check{
		{"Width", float64(s.Width), 8, 20000},
		{"Height", float64(s.Height), 8, 20000},
		{"Spacing", s.Spacing, 0.02, 5},
		{"SourceHip", s.SourceHip, 400, 5000},
		{"SourceImage", s.SourceImage, s.SourceHip + 20, 6000},
		{"Bits", float64(s.Bits), 10, 16},
		{"BeamX", s.BeamX, -400, 400}, {"BeamY", s.BeamY, -400, 400},
		{"ShiftX", s.ShiftX, -400, 400}, {"ShiftY", s.ShiftY, -400, 400},
		{"Tilt", s.Tilt, -30, 30}, {"Rotation", s.Rotation, -30, 30}, {"Roll", s.Roll, -30, 30},
		{"BodyMM", s.BodyMM, 0, 500},
		{"Scatter", s.Scatter, -1, 0.9},
		{"Dose", s.Dose, -1, 1e8},
		{"BlurMM", s.BlurMM, -1, 5},
		{"Texture", s.Texture, -1, 5},
		{"Enhance", s.Enhance, 0, 5},
		{"Clip", s.Clip, 0, 1},
		{"Obliquity", s.Obliquity, -60, 60},
		{"Collimate", s.Collimate, 0, 500},
		{"Hardness", s.Hardness, -2, 2},
		{"Joint.RadiusMM", s.Joint.RadiusMM, 0, 40}, {"Joint.Dense", s.Joint.Dense, 0, 10}, {"Joint.Size", s.Joint.Size, 0, 1.5},
	})
	if err != nil {
		return err
	}
	for i, p := range s.Pieces {
		if err := p.validate(fmt.Sprintf("Pieces[%d].", i)); err != nil {
			return err
		}
	}
	if !s.Window.Empty() && !s.Window.In(image.Rect(0, 0, s.Width, s.Height)) {
		return &SceneError{"Window", fmt.Sprintf("%v is not on the film", s.Window)}
	}
	seen := map[measure.Side]bool{}
	for i, h := range s.Hips {
		if seen[h.Side] {
			return &SceneError{fmt.Sprintf("Hips[%d].Side", i), "is there twice"}
		}
		seen[h.Side] = true
		if s.isLateral() && h.Side != s.Lateral {
			return &SceneError{fmt.Sprintf("Hips[%d].Side", i), fmt.Sprintf("is not on a lateral film of the %s hip", s.Lateral)}
		}
		if err := h.validate(fmt.Sprintf("Hips[%d].", i)); err != nil {
			return err
		}
	}
	return nil
}

func (h Hip) validate(at string) error {
	if h.Side != measure.Right && h.Side != measure.Left {
		return &SceneError{at + "Side", "is neither right nor left"}
	}
	err := run([]check{
		{at + "HeadMM", h.HeadMM, 16, 70},
		{at + "ShellMM", h.ShellMM, 30, 90},
		{at + "Inclination", h.Inclination, 0, 90},
		{at + "Anteversion", h.Anteversion, -60, 60},
		{at + "WallMM", h.WallMM, 0, 10},
		{at + "RimMM", h.RimMM, -8, 8},
		{at + "WireMM", h.WireMM, 0, 4},
		{at + "Screws", float64(h.Screws), 0, 3},
		{at + "Lateral", h.Lateral, 0, 200},
		{at + "Caudal", h.Caudal, -100, 100},
		{at + "Abduction", h.Abduction, -30, 30},
		{at + "StemScale", h.StemScale, 0, 2},
	})
	if err != nil {
		return err
	}
	if err := h.Detail.validate(at + "Detail."); err != nil {
		return err
	}
	if h.Cup != measure.Shell && h.Cup != measure.Wire {
		return &SceneError{at + "Cup", fmt.Sprintf("%q is neither shell nor wire", h.Cup)}
	}
	// The head must stay within the space the cup leaves it.
	room := h.ShellMM/2 - h.HeadMM/2
	if h.Cup == measure.Shell {
		room -= or(h.WallMM, 4)
	}
	if e := (vec{h.Superior, h.Medial, h.Anterior}).norm(); !(e <= room) {
		return &SceneError{at + "Superior", fmt.Sprintf("the head's centre is %.2f mm off, the cup leaves %.2f mm", e, room)}
	}
	for _, m := range []struct {
		field string
		m     Material
		of    []Material
	}{
		{"HeadMaterial", h.HeadMaterial, []Material{"", CoCr, Alumina, Steel, Zirconia}},
		{"ShellMaterial", h.ShellMaterial, []Material{"", CoCr, Titanium}},
		{"StemMaterial", h.StemMaterial, []Material{"", CoCr, Titanium, Steel}},
	} {
		if !contains(m.of, m.m) {
			return &SceneError{at + m.field, fmt.Sprintf("%q is not among %q", m.m, m.of[1:])}
		}
	}
	return nil
}

func contains(of []Material, m Material) bool {
	for _, o := range of {
		if o == m {
			return true
		}
	}
	return false
}
