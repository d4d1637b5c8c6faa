package phantom

import (
	"image"
	"math"

	"linerwatch/measure/phantom/glyph"
)

// Letter is a text of lead letters on the detector.
type Letter struct {
	Text   string
	X, Y   float64 // middle of the text, mm on the detector from the film's top left corner
	Height float64 // mm
	Angle  float64 // degrees, positive clockwise on the film
	Mirror bool    // seen from behind
	Passes float64 // share of the beam that passes, 0 to 1
}

// Blade is an edge of the collimator: what lies beyond it in the direction of
// Angle gets scatter and leakage only.
type Blade struct {
	X, Y  float64 // a place on the edge, mm on the detector from the film's top left corner
	Angle float64 // of the direction into the dark, degrees from +x towards +y
}

const (
	// leak is the share of the beam that passes a blade, and penumbra the width of
	// its shadow's edge, mm, as a standard deviation.
	leak, penumbra = 0.003, 0.5
	// leadStroke is half of the width of a lead letter's stroke, in heights.
	leadStroke = 0.085
)

// plaque is a text of lead over its box.
type plaque struct {
	box   image.Rectangle
	shade []float32
}

// newPlaque draws the shade of a letter over the pixels it touches.
func newPlaque(l Letter, spacing float64) plaque {
	strokes := glyph.Text(l.Text)
	wide := glyph.Advance*float64(len([]rune(l.Text))) - (glyph.Advance - 0.6)
	reach := l.Height * (math.Hypot(wide, 1)/2 + 0.2) / spacing
	cx, cy := l.X/spacing, l.Y/spacing
	p := plaque{box: image.Rect(int(cx-reach), int(cy-reach), int(cx+reach)+1, int(cy+reach)+1)}
	p.shade = make([]float32, p.box.Dx()*p.box.Dy())
	sin, cos := math.Sincos(l.Angle * math.Pi / 180)
	soft := 0.5 * spacing / l.Height // of a stroke's edge, in heights
	i := 0
	for y := p.box.Min.Y; y < p.box.Max.Y; y++ {
		for x := p.box.Min.X; x < p.box.Max.X; x++ {
			dx, dy := (float64(x)+0.5-cx)*spacing/l.Height, (float64(y)+0.5-cy)*spacing/l.Height
			u, v := dx*cos+dy*sin, dy*cos-dx*sin
			if l.Mirror {
				u = -u
			}
			d := glyph.Distance(strokes, u+wide/2, v+0.5)
			on := min(1, max(0, (leadStroke-d)/soft/2+0.5))
			p.shade[i] = float32(1 - on*(1-l.Passes))
			i++
		}
	}
	return p
}

// passes returns the share of the beam that passes the blades at a position on
// the detector, mm.
func passes(blades []Blade, x, y float64) float64 {
	share := 1.0
	for _, b := range blades {
		sin, cos := math.Sincos(b.Angle * math.Pi / 180)
		d := ((x-b.X)*cos + (y-b.Y)*sin) / penumbra
		switch {
		case d > 4:
			share *= leak
		case d > -4:
			share *= leak + (1-leak)*0.5*math.Erfc(d/math.Sqrt2)
		}
	}
	return share
}

// dimByLead dims one row behind lead: letters and blades.
func (e *exposure) dimByLead(sig, va []float32, py int) {
	dim := func(x int, share float32) {
		sig[x] *= share
		va[x] *= share
	}
	for _, p := range e.plaques {
		if py < p.box.Min.Y || py >= p.box.Max.Y {
			continue
		}
		row := p.shade[(py-p.box.Min.Y)*p.box.Dx():]
		for px := max(e.in.Min.X, p.box.Min.X); px < min(e.in.Max.X, p.box.Max.X); px++ {
			dim(px-e.in.Min.X, row[px-p.box.Min.X])
		}
	}
	if len(e.s.Blades) == 0 {
		return
	}
	y := (float64(py) + 0.5) * e.s.Spacing
	for x := range sig {
		if share := passes(e.s.Blades, (float64(e.in.Min.X+x)+0.5)*e.s.Spacing, y); share < 1 {
			dim(x, float32(share))
		}
	}
}
