package chance

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// drawHip draws a replaced hip with head and cup concentric.
func drawHip(d *dice) phantom.Hip {
	h := phantom.DefaultHip(measure.Right)
	if level(d, "side", "right", "left") == "left" {
		h.Side = measure.Left
	}
	h.Cup = level(d, "cup", measure.Shell, measure.Shell, measure.Wire)
	h.StemMaterial = level(d, "stem", phantom.Titanium, phantom.CoCr, phantom.Steel)
	h.Inclination = d.between("inclination", 25, 65)
	h.Abduction = d.between("abduction", -6, 6)
	h.StemScale = 0.9 + 0.25*d.quiet("stem size")
	h.Detail.Variant = d.stream("variant").Uint64() | 1
	if h.Detail.BoneMM = d.between("bone", 0, 2); h.Detail.BoneMM < 0.4 {
		h.Detail.BoneMM = -1 // none
	}
	h.Detail.BoneOff = 1.2 * d.quiet("bone off")
	if d.opt.plain {
		h.HeadMaterial = level(d, "head", phantom.CoCr, phantom.Steel)
	} else {
		h.HeadMaterial = level(d, "head", phantom.CoCr, phantom.CoCr, phantom.Steel, phantom.Alumina, phantom.Alumina, phantom.Zirconia)
		if d.happens("skirt", 0.2) {
			h.Detail.SkirtMM = 3 + 6*d.quiet("skirt mm")
		}
		if d.happens("cables", 0.2) {
			h.Detail.Cables = 1 + int(3*d.quiet("cables n"))
			h.Detail.CableMM = 1 + 1.2*d.quiet("cable mm")
		}
	}
	bed := 0.3
	if h.Cup == measure.Wire {
		bed = 0.8
		drawRing(d, &h)
	} else {
		drawShell(d, &h)
	}
	if d.happens("stem-cement", bed) {
		h.Detail.StemBed = 1 + 3*d.quiet("bed mm")
	}
	return h
}

// drawShell draws a metal shell.
func drawShell(d *dice, h *phantom.Hip) {
	h.HeadMM = d.oneOf("head_mm", 22.225, 26, 28, 28, 30, 32, 32, 36, 36, 38, 40, 44)
	h.WallMM = d.between("wall", 2, 6)
	least := max(42, h.HeadMM+2*h.WallMM+6)
	h.ShellMM = math.Round(d.between("cup_mm", least, max(least+2, 68)))
	h.Anteversion = d.between("anteversion", 0, 35)
	h.RimMM = d.between("rim", -4, 3)
	h.Screws = int(d.oneOf("screws", 0, 1, 2, 3))
	h.Holes = d.happens("holes", 0.5)
	h.ShellMaterial = phantom.Titanium
	if d.opt.plain {
		return
	}
	h.ShellMaterial = level(d, "shell", phantom.Titanium, phantom.Titanium, phantom.CoCr)
	switch level(d, "coating", "smooth", "smooth", "rough", "beaded") {
	case "rough":
		h.Detail.RoughMM, h.Detail.GrainMM = 0.03+0.07*d.quiet("rough"), 0.3+0.3*d.quiet("grain")
	case "beaded":
		h.Detail.RoughMM, h.Detail.GrainMM = 0.1+0.2*d.quiet("rough"), 0.6+0.6*d.quiet("grain")
	}
	if d.happens("flange", 0.3) {
		h.Detail.FlangeMM = 0.3 + 1.7*d.quiet("flange mm")
	}
}

// drawRing draws a cemented cup with a marker wire, in a third of hips edge-on.
func drawRing(d *dice, h *phantom.Hip) {
	h.HeadMM = d.oneOf("head_mm", 22.225, 22.225, 26, 28, 28, 32)
	least := max(40, h.HeadMM+14)
	h.ShellMM = math.Round(d.between("cup_mm", least, max(least+2, 56)))
	h.Anteversion = d.between("anteversion", 0, 35)
	if !d.opt.plain && d.happens("edge-on", 0.3) {
		h.Anteversion = d.between("anteversion", 0, 3)
	}
	h.WireMM = d.between("wire", 0.5, 1.6)
	h.Detail.Mantle = d.between("mantle", 1, 6)
	h.Detail.Barium = d.between("barium", 0.6, 2)
	if d.opt.plain {
		return
	}
	h.Detail.RoughMM, h.Detail.GrainMM = d.between("mantle-uneven", 0, 1.2), 5+7*d.quiet("grain")
	h.Detail.RoughMM = min(h.Detail.RoughMM, 0.3*h.Detail.Mantle)
	h.Detail.DomeWire = d.happens("dome-wire", 0.25)
	if d.happens("gap", 0.2) {
		h.Detail.GapDeg = 10 + 50*d.quiet("gap deg")
	}
}

// motion is how the head moves from the first film to the last, mm.
type motion struct{ up, in, front, moveUp, moveIn float64 }

// mostOff is how far off centre a head may be, mm.
const mostOff = 6

// drawMotion draws where the head starts and how far it moves.
func drawMotion(d *dice, h phantom.Hip) (m motion) {
	room := h.ShellMM/2 - h.HeadMM/2
	if h.Cup == measure.Shell {
		room -= h.WallMM
	}
	most := min(mostOff, 0.85*room)
	start := 0.4 * most * d.quiet("start")
	way := 2 * math.Pi * d.quiet("start way")
	m.up, m.in, m.front = start*math.Cos(way), start*math.Sin(way), 0.2*start
	move := (most - 1.1*start) * d.quiet("move")
	d.keep(Factor{Name: "moves_mm", Value: move})
	d.keep(Factor{Name: "starts_mm", Value: start})
	sin, cos := math.Sincos((-40 + 110*d.quiet("move way")) * math.Pi / 180)
	m.moveUp, m.moveIn = move*cos, move*sin
	return m
}

// at returns the head's place after a part of the way.
func (m motion) at(part float64) (superior, medial, anterior float64) {
	return m.up + part*m.moveUp, m.in + part*m.moveIn, m.front
}

// drawOther draws the other hip, which is replaced too on one film in three.
func drawOther(d *dice, h phantom.Hip) []phantom.Hip {
	if !d.happens("both", 0.33) {
		return nil
	}
	o := &dice{seed: d.seed, number: d.number, salt: "other", opt: d.opt}
	other := drawHip(o)
	other.Side = measure.Right + measure.Left - h.Side
	if other.Cup == h.Cup && other.ShellMM-h.HeadMM > 14+2*other.WallMM {
		other.HeadMM = h.HeadMM
	}
	return []phantom.Hip{other}
}

// drawBall draws a ball to calibrate by, in the plane of the hip.
func drawBall(d *dice, h phantom.Hip) []phantom.Piece {
	if d.opt.plain || !d.happens("ball", 0.2) {
		return nil
	}
	lateral := -h.Side.Medial()
	at := [3]float64{lateral * (92 + 50 + 25*d.quiet("ball x")), -20 + 80*d.quiet("ball y"), -20 + 40*d.quiet("ball z")}
	if d.quiet("ball between") < 0.4 { // between the thighs
		at[0], at[1] = lateral*(20+20*d.quiet("ball x")), 50+30*d.quiet("ball y")
	}
	return []phantom.Piece{{Shape: phantom.Ball, From: at, Radius: 10 + 6*d.quiet("ball r")}}
}
