package chance

import (
	"image"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// Kind is what a film without a whole hip replacement shows.
type Kind string

// The kinds of film without a whole hip replacement.
const (
	Native    Kind = "native"
	Arthritic Kind = "arthritic" // dense bone about the joint
	Plate     Kind = "plate"     // of an osteotomy, with its blade and screws
	Nail      Kind = "nail"      // with its screw through the neck
	Screws    Kind = "screws"    // through the neck
	Marker    Kind = "marker"    // a ball to calibrate by, over or beside a native hip
	Hemi      Kind = "hemi"      // a metal head in the native socket
	Stem      Kind = "stem"      // the shaft of a stem, the film ending below the neck
	Soft      Kind = "soft"      // no hip: a part of the belly or of the thigh
)

// Kinds lists them.
var Kinds = []Kind{Native, Arthritic, Plate, Nail, Screws, Marker, Hemi, Stem, Soft}

// Empty draws the film of a number without a whole hip replacement; the kinds
// follow each other.
func Empty(seed uint64, number int, opt Options) (Kind, Film) {
	kind := Kinds[number%len(Kinds)]
	d := &dice{seed: seed, number: number, opt: opt, salt: "empty"}
	d.note("kind", string(kind))
	side := measure.Right
	if level(d, "side", "right", "left") == "left" {
		side = measure.Left
	}
	s := patient(d)
	s.Joint = phantom.Joint{RadiusMM: d.between("socket", 24, 29), Dense: d.between("dense", 0.6, 1.6), Size: d.between("femur", 0.9, 1.15)}
	if kind == Arthritic {
		s.Joint.RadiusMM, s.Joint.Dense = d.between("socket", 23, 28), d.between("dense", 2, 5)
	}
	s = expose(d, s)
	s.Pieces = pieces(d, kind, leg{side})
	if kind == Stem {
		h := drawHip(d)
		h.Side = side
		s.Hips = []phantom.Hip{h}
	}
	s = crop(d, s, side)
	switch kind {
	case Stem: // the film ends below the neck
		hip := s.Around(side, 40).Window
		s.Window.Min.Y = min(hip.Max.Y+int(60/s.Spacing), s.Height-200)
		s.Window.Max.Y = min(s.Window.Min.Y+1000, s.Height)
	case Soft:
		s.Window = shift(s, int(float64(d.stream("soft x").IntN(80))/s.Spacing), -int((150+80*d.quiet("soft y"))/s.Spacing))
	}
	s = clutter(d, s)
	return kind, Film{Scene: s, Recipe: process(d, s), Factors: d.factors}
}

// shift returns the window moved as far as the film goes.
func shift(s phantom.Scene, dx, dy int) image.Rectangle {
	w := s.Window
	dx = min(max(dx, -w.Min.X), s.Width-w.Max.X)
	dy = min(max(dy, -w.Min.Y), s.Height-w.Max.Y)
	return w.Add(image.Pt(dx, dy))
}

// leg places things by the hip: mm lateral of its centre, caudal, and to the front.
type leg struct{ side measure.Side }

func (l leg) at(lateral, caudal, front float64) [3]float64 {
	return [3]float64{-l.side.Medial() * (92 + lateral), caudal, front}
}

// rod is a rod between two places.
func rod(from, to [3]float64, radius float64) phantom.Piece {
	return phantom.Piece{Shape: phantom.Rod, From: from, To: to, Radius: radius}
}

// pieces draws the metal of a kind.
func pieces(d *dice, kind Kind, l leg) (all []phantom.Piece) {
	metal := phantom.Steel
	if d.quiet("titanium") < 0.5 {
		metal = phantom.Titanium
	}
	rng := d.stream("pieces")
	about := func(v float64) float64 { return v + 3*(2*rng.Float64()-1) }
	switch kind {
	case Plate:
		all = plate(l, about)
	case Nail:
		r := 5 + 3*rng.Float64()
		all = append(all,
			rod(l.at(about(43), about(-14), 0), l.at(about(39), 190, 0), r),
			rod(l.at(about(64), about(36), 0), l.at(about(4), about(-4), 0), 4+2*rng.Float64()),
			rod(l.at(60, about(100), 0), l.at(20, about(100), 0), 2.4))
	case Screws:
		for _, z := range []float64{-9, 0, 9} {
			y := about(28)
			all = append(all, rod(l.at(about(62), y, z), l.at(about(6), y-38, z), 2.6+rng.Float64()))
		}
	case Marker:
		p := phantom.Piece{Shape: phantom.Ball, From: l.at(40+20*rng.Float64(), -40+80*rng.Float64(), 0), Radius: 10 + 6*rng.Float64()}
		if rng.IntN(2) == 0 { // over the native head, as a ball on the skin may be
			p.From = l.at(30*rng.Float64()-10, 30*rng.Float64()-15, 90)
		}
		all = append(all, p)
	case Hemi:
		head := 21 + 6*rng.Float64()
		metal = phantom.CoCr
		all = append(all,
			phantom.Piece{Shape: phantom.Ball, From: l.at(0, 0, 0), Radius: head},
			rod(l.at(8, 7, 0), l.at(32, 27, 0), 6),
			rod(l.at(38, 24, 0), l.at(42, 150, 0), 7))
	}
	for i := range all {
		all[i].Material = metal
	}
	return all
}

// plate is an angled blade plate on the outer side of the femur.
func plate(l leg, about func(float64) float64) []phantom.Piece {
	top, low := about(26), about(120)
	all := []phantom.Piece{
		{Shape: phantom.Bar, From: l.at(64, top, 0), To: l.at(60, low, 0), Width: 5, Thick: 16},
		{Shape: phantom.Bar, From: l.at(63, top, 0), To: l.at(about(5), about(-8), 0), Width: 4, Thick: 14},
	}
	for i := range 4 {
		y := top + 18 + float64(i)*(low-top-24)/3
		all = append(all, rod(l.at(66, y, 0), l.at(about(20), y+1, 0), 2.2))
	}
	return all
}
