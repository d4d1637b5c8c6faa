package measure

import (
	"image"
	"math"
)

// quantum is the standard deviation that rounding to whole levels leaves, the
// least noise a film is taken to have.
const quantum = 0.2887

// show sets how o shows on film: Contrast and Clipped. An outline of metal or
// ceramic is a step inwards, a wire ring a line on what lies beside it.
func (o *Outline) show(film *patch) {
	sigma := smoothing(o.R)
	beside, line := 1+3*sigma, false
	if o.Ring.A > 0 {
		beside, line = max(4, 0.06*o.R), true
	}
	top := film.top()
	steps := make([]float64, 0, len(o.Edges))
	clipped, seen := 0, 0
	for _, e := range o.Edges {
		n := o.normal(e)
		outer, ok := film.at(e.X+beside*n.X, e.Y+beside*n.Y)
		inner, within := film.at(e.X-beside*n.X, e.Y-beside*n.Y)
		if !ok || !within {
			continue
		}
		if line {
			on, _ := film.at(e.X, e.Y)
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
	o.Contrast = median(steps) / max(quantum, film.roughness(o.Circle, o.Edges, beside, beside+8))
	o.Clipped = float64(clipped) / float64(seen)
}

// normal returns the unit vector outwards at an edge of o.
func (o *Outline) normal(e Edge) Point {
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	if !(o.Ring.A > 0) {
		return Point{cos, sin}
	}
	sin, cos = math.Sincos(o.Ring.Angle * math.Pi / 180)
	dx, dy := e.X-o.Ring.X, e.Y-o.Ring.Y
	u, v := (dx*cos+dy*sin)/(o.Ring.A*o.Ring.A), (dy*cos-dx*sin)/max(1, o.Ring.B*o.Ring.B)
	length := math.Hypot(u, v)
	if length == 0 {
		return Point{-sin, cos}
	}
	return Point{(u*cos - v*sin) / length, (u*sin + v*cos) / length}
}

// Shown returns o with Contrast and Clipped as its edges show on img.
func (o Outline) Shown(img *image.Gray16) Outline {
	if film := crop(img, o.X, o.Y, 1.2*o.R+12); film.v != nil {
		o.show(&film)
	}
	return o
}
