package chance

import (
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// patient draws a patient without a replaced hip.
func patient(d *dice) phantom.Scene {
	s := phantom.Default()
	s.Patient = d.stream("patient").Uint64()
	most := 320.0
	if d.opt.plain {
		most = 230
	}
	s.BodyMM = d.between("body", 170, most)
	s.Texture = d.between("texture", 0.6, 2)
	return s
}

// expose draws how a film is taken of a patient.
func expose(d *dice, s phantom.Scene) phantom.Scene {
	s.Seed = d.stream("seed").Uint64()
	s.Spacing = d.between("spacing", 0.1, 0.2)
	s.Width, s.Height = int(426/s.Spacing), int(355/s.Spacing)
	s.SourceImage = d.between("source", 1000, 1300)
	s.SourceHip = s.SourceImage / d.between("magnification", 1.08, 1.3)
	s.ShiftX, s.ShiftY = d.about("shift x", 0, 8), d.about("shift y", 0, 8)
	s.BeamX, s.BeamY = d.about("beam x", 0, 8), d.about("beam y", 0, 8)
	s.Tilt, s.Rotation, s.Roll = d.about("tilt", 0, 3), d.about("rotation", 0, 3), d.about("roll", 0, 2)
	if d.opt.plain {
		s.Dose = d.over("dose", 30000, 90000)
		s.Scatter = d.between("scatter", 0.1, 0.3)
		s.BlurMM = d.between("blur", 0.2, 0.35)
		return s
	}
	s.Dose = d.over("dose", 5000, 120000)
	s.Scatter = d.between("scatter", 0.08, 0.5)
	s.BlurMM = d.between("blur", 0.12, 0.5)
	s.Hardness = d.between("hardness", -1, 1.2)
	return s
}

// crop draws the window around the hip: some 1000 pixels, of which the hip need
// not be the middle.
func crop(d *dice, s phantom.Scene, side measure.Side) phantom.Scene {
	w, h := int(d.between("columns", 900, 1100)), 900+int(200*d.quiet("rows"))
	s = s.Around(side, 40)
	at := s.Window.Min.Add(s.Window.Max).Div(2)
	// The cup, up to 90 mm wide on the detector with its mantle, stays on the film.
	slack := max(0, float64(min(w, h))/2-46/s.Spacing)
	off := func(name string) int { return int((2*d.quiet(name) - 1) * min(slack, 0.16*float64(w))) }
	at = at.Add(image.Pt(off("window x"), off("window y")))
	s.Window = image.Rect(at.X-w/2, at.Y-h/2, at.X-w/2+w, at.Y-h/2+h).Intersect(image.Rect(0, 0, s.Width, s.Height))
	return s
}

// window returns the part of the detector that is rendered.
func window(s phantom.Scene) image.Rectangle {
	if s.Window.Empty() {
		return image.Rect(0, 0, s.Width, s.Height)
	}
	return s.Window
}

// clutter draws lead letters and the collimator's edges.
func clutter(d *dice, s phantom.Scene) phantom.Scene {
	if d.opt.plain {
		return s
	}
	win := window(s)
	mm := func(p, from, to float64) float64 { return (from + p*(to-from)) * s.Spacing }
	if d.happens("letters", 0.4) {
		rng := d.stream("letters")
		words := []string{"R", "L", "RL", "AP", "O", "8", "0", "R 3", "Q6", "WB", "20"}
		for range 1 + rng.IntN(3) {
			s.Letters = append(s.Letters, phantom.Letter{
				Text: words[rng.IntN(len(words))], Height: 8 + 14*rng.Float64(), Angle: 20 * rng.NormFloat64(), Mirror: rng.IntN(6) == 0,
				X:      mm(0.05+0.9*rng.Float64(), float64(win.Min.X), float64(win.Max.X)),
				Y:      mm(0.05+0.9*rng.Float64(), float64(win.Min.Y), float64(win.Max.Y)),
				Passes: 0.03 * rng.Float64(),
			})
		}
	}
	if d.happens("blades", 0.3) {
		rng := d.stream("blades")
		cx, cy := mm(0.5, float64(win.Min.X), float64(win.Max.X)), mm(0.5, float64(win.Min.Y), float64(win.Max.Y))
		for range 1 + rng.IntN(2) {
			side := rng.IntN(4)
			angle := 90*float64(side) + 3*rng.NormFloat64()
			size := float64(win.Dx())
			if side%2 == 1 {
				size = float64(win.Dy())
			}
			// Not over the cup: its middle is up to 0.16 of the window from this one's.
			reach := max(size*(0.4+0.1*rng.Float64()), 0.16*size+50/s.Spacing) * s.Spacing
			sin, cos := math.Sincos(angle * math.Pi / 180)
			s.Blades = append(s.Blades, phantom.Blade{X: cx + reach*cos, Y: cy + reach*sin, Angle: angle})
		}
	}
	return s
}
