package chance

import (
	"fmt"
	"math"
	"slices"

	"linerwatch/measure/phantom"
	"linerwatch/measure/phantom/station"
)

// tones returns the tone curves that the options leave.
func tones(o Options) (all []station.Tone) {
	for _, t := range station.Tones {
		if slices.Contains(o.Only, Style(t)) {
			all = append(all, t)
		}
	}
	if len(all) > 0 {
		return all
	}
	for _, t := range station.Tones {
		if !slices.Contains(o.Without, Style(t)) {
			all = append(all, t)
		}
	}
	return all
}

// process draws how a film is processed.
func process(d *dice, s phantom.Scene) station.Recipe {
	r := station.Recipe{Seed: s.Seed}
	r.Tone = level(d, "tone", tones(d.opt)...)
	r.Steep = d.between("steep", 0.6, 1.5)
	if d.opt.plain {
		r.Steep = d.between("steep", 0.8, 1.2)
	}
	r.Low = d.between("black", -2.5, -0.8)
	if r.Tone == station.Linear {
		r.Low = d.between("black", -1.2, -0.4)
	}
	// Where nothing passes, scatter is left: that depth is about the deepest.
	least := 1.05
	if d.opt.plain {
		least = 1.3
	}
	r.High = -math.Log(s.Scatter) * d.over("white", least, 2.2)
	if d.style(Stretch, 0.5) {
		r.Low, r.High = 0, 0
		r.Stretch = station.Stretch{Low: 0.03 * d.quiet("stretch low"), High: 0.01 * d.quiet("stretch high"), Room: 0.15 * d.quiet("room")}
	}
	r.Bits = int(d.oneOf("bits", 10, 12, 12, 14, 16))
	exposure(d, &r)
	enhance(d, &r)
	output(d, s, &r)
	return r
}

// exposure draws uneven light and grid lines.
func exposure(d *dice, r *station.Recipe) {
	if d.style(Shade, 0.5) {
		r.Shade = [2]float64{0.5 * (2*d.quiet("shade x") - 1), 0.5 * (2*d.quiet("shade y") - 1)}
	}
	if d.style(Grid, 0.15) {
		r.Grid = station.Grid{Strength: d.over("grid-strength", 0.002, 0.015), PeriodMM: d.over("grid-period", 0.3, 5), Angle: 90*float64(d.stream("grid way").IntN(2)) + d.stream("grid angle").NormFloat64()}
	}
}

// enhance draws what a station does to detail.
func enhance(d *dice, r *station.Recipe) {
	if d.style(Unsharp, 0.35) {
		r.Unsharp = station.Unsharp{Gain: d.over("unsharp-gain", 0.3, 2.5), SigmaMM: d.over("unsharp-mm", 0.3, 6)}
		if d.quiet("unsharp limit") < 0.5 {
			r.Unsharp.Most = 0.2 + 0.6*d.quiet("unsharp most")
		}
	}
	if d.style(Multiscale, 0.3) {
		r.Multiscale = station.Multiscale{Power: d.between("multiscale-power", 0.55, 0.95), M: 0.5 + 1.5*d.quiet("multiscale m"),
			Fine: 0.8 + 1.2*d.quiet("multiscale fine"), Coarse: 0.5 + 0.5*d.quiet("multiscale coarse")}
	}
	if d.style(Equalise, 0.15) {
		r.Equalise = station.Equalise{Tiles: int(d.between("tiles", 3, 12)), Limit: d.between("contrast-limit", 1.3, 4), Share: 0.4 + 0.6*d.quiet("equalise share")}
	}
}

// output draws what is done to the greys.
func output(d *dice, s phantom.Scene, r *station.Recipe) {
	if d.style(Gamma, 0.25) {
		r.Gamma = d.over("gamma-value", 0.5, 2)
	}
	if d.style(ClipLow, 0.2) {
		r.ClipLow = d.between("clipped-low", 0.02, 0.25)
	}
	if d.style(ClipHigh, 0.2) {
		r.ClipHigh = d.between("clipped-high", 0.02, 0.15)
	}
	if d.style(Scan, 0.2) {
		r.Scan = station.Scan{BlurPX: 0.4 + 0.8*d.quiet("scan blur"), Grain: d.over("grain", 0.003, 0.03), Dust: int(40 * d.quiet("dust"))}
		r.Bits = int(d.oneOf("bits", 8, 10, 12))
	}
	if len(s.Blades) > 0 && d.happens("mask", 0.5) {
		r.Mask = maskOf(s)
	}
	if d.style(Burned, 0.3) {
		r.Text = texts(d, s)
	}
	if d.style(JPEG, 0.2) {
		r.JPEG, r.Bits = int(d.between("quality", 40, 95)), 8
		d.keep(Factor{Name: "bits", Value: 8})
	}
}

// maskOf blackens what the blades leave dark.
func maskOf(s phantom.Scene) *station.Mask {
	m := &station.Mask{}
	win := window(s)
	for _, b := range s.Blades {
		m.Edges = append(m.Edges, station.Edge{X: b.X/s.Spacing - float64(win.Min.X), Y: b.Y/s.Spacing - float64(win.Min.Y), Angle: b.Angle})
	}
	return m
}

// texts draws lines of burned-in text along the film's edges.
func texts(d *dice, s phantom.Scene) (all []station.Text) {
	rng := d.stream("text lines")
	win := window(s)
	w, h := float64(win.Dx()), float64(win.Dy())
	lines := []string{"AP PELVIS", "R", "L", "2011-03-07", "HIP AP", "SUPINE", "73.0 KV 12.5 MAS", "S 400", "SE 1 IM 2", "O", "PORTABLE"}
	for range 1 + rng.IntN(5) {
		t := station.Text{Line: lines[rng.IntN(len(lines))], Height: (0.012 + 0.03*rng.Float64()) * h, Boxed: rng.IntN(3) == 0}
		t.X, t.Y = w*(0.02+0.7*rng.Float64()), h*0.02
		switch rng.IntN(3) {
		case 0:
			t.Y = h * (0.9 + 0.05*rng.Float64())
		case 1:
			t.X, t.Y = w*0.02, h*(0.05+0.85*rng.Float64())
		}
		all = append(all, t)
	}
	d.note("text lines", fmt.Sprint(len(all)))
	return all
}
