package find

import (
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// quantum is the standard deviation that rounding to whole levels leaves, the
// least noise a film is taken to have.
const quantum = 0.2887

// show sets how o shows on film: Contrast and Clipped. An outline of metal or
// ceramic is a step inwards, a wire ring a line on what lies beside it.
func show(o *measure.Outline, patch *film.Patch) {
	sigma := film.Smoothing(o.R)
	beside, line := 1+3*sigma, false
	if o.Ring.A > 0 {
		beside, line = max(4, 0.06*o.R), true
	}
	top := patch.Top()
	steps := make([]float64, 0, len(o.Edges))
	clipped, seen := 0, 0
	for _, e := range o.Edges {
		n := outward(o, e)
		outer, ok := patch.At(e.X+beside*n.X, e.Y+beside*n.Y)
		inner, within := patch.At(e.X-beside*n.X, e.Y-beside*n.Y)
		if !ok || !within {
			continue
		}
		if line {
			on, _ := patch.At(e.X, e.Y)
			outer, inner = (outer+inner)/2, on
		}
		seen++
		if inner >= top-0.5 {
			clipped++
		}
		if e.Reject == "" {
			steps = append(steps, inner-outer)
		}
	}
	if len(steps) == 0 {
		return
	}
	o.Contrast = film.Median(steps) / max(quantum, patch.Roughness(o.Circle, o.Edges, beside, beside+8))
	o.Clipped = float64(clipped) / float64(seen)
}

// outward returns the unit vector outwards at an edge of o.
func outward(o *measure.Outline, e measure.Edge) measure.Point {
	if o.Ring.A > 0 {
		return o.Ring.Normal(e.Point)
	}
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	return measure.Point{X: cos, Y: sin}
}

// Shown returns o with Contrast and Clipped as its edges show on img.
func Shown(img *image.Gray16, o measure.Outline) measure.Outline {
	if patch := film.Crop(img, o.X, o.Y, 1.2*o.R+12); patch.V != nil {
		show(&o, &patch)
	}
	return o
}
