package main

import (
	"image"
	"math"

	"linerwatch/measure"
)

// hidden is the share of an outline below which there is too little of it for
// anybody to draw it.
const hidden = 0.2

// shows returns the share of a true outline's directions, from 0 to 1, in which the
// film steps up inwards by more than noise and the slope beside the outline make:
// three standard errors, and at least leastStep of the film's range. only says
// which directions count. mm is that of a pixel.
func shows(img *image.Gray16, c measure.Circle, mm float64, only func(cos, sin float64) bool) float64 {
	const directions = 120
	span := leastStep * rangeOf(img)
	seen, all := 0.0, 0.0
	for i := range directions {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / directions)
		if only != nil && !only(cos, sin) {
			continue
		}
		all++
		// Bands of 1 mm along the outline: the nearer ones 0.3 to 0.9 mm beside it,
		// the farther ones 0.9 to 1.5.
		in1, noise, ok1 := band(img, c, cos, sin, -0.9/mm, -0.3/mm, 1/mm)
		out1, _, ok2 := band(img, c, cos, sin, 0.3/mm, 0.9/mm, 1/mm)
		in2, _, ok3 := band(img, c, cos, sin, -1.5/mm, -0.9/mm, 1/mm)
		out2, _, ok4 := band(img, c, cos, sin, 0.9/mm, 1.5/mm, 1/mm)
		if !ok1 || !ok2 || !ok3 || !ok4 {
			continue
		}
		// What a slope, 0.6 mm from band to band, makes of the first difference it
		// makes of half of the second; the bands weigh 2, 2, 1 and 1.
		if step := 2*(in1-out1) - (in2 - out2); step > max(3*math.Sqrt(10)*noise, span) {
			seen++
		}
	}
	return seen / max(1, all)
}

// leastStep is the least step that counts, as a share of a film's range of greys.
const leastStep = 0.004

// band returns the mean of the film between two distances from a circle over a
// length along it, and its standard error by the differences of neighbours.
func band(img *image.Gray16, c measure.Circle, cos, sin, from, to, length float64) (mean, se float64, ok bool) {
	var sum, squares, n, pairs float64
	for d := from; d <= to; d++ {
		last := math.NaN()
		for t := -length / 2; t <= length/2; t++ {
			x, y := c.X+(c.R+d)*cos-t*sin, c.Y+(c.R+d)*sin+t*cos
			p := image.Pt(int(math.Floor(x)), int(math.Floor(y)))
			if !p.In(img.Rect) {
				return 0, 0, false
			}
			v := float64(img.Gray16At(p.X, p.Y).Y)
			sum += v
			n++
			if !math.IsNaN(last) {
				squares += (v - last) * (v - last)
				pairs++
			}
			last = v
		}
	}
	if n == 0 || pairs == 0 {
		return 0, 0, false
	}
	return sum / n, math.Sqrt(squares/pairs/2/n) + 1e-9, true
}

// rangeOf returns the difference of the brightest to the darkest of some pixels.
func rangeOf(img *image.Gray16) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for y := 0; y < img.Rect.Dy(); y += 7 {
		for x := 0; x < img.Rect.Dx(); x += 7 {
			v := float64(img.Gray16At(x, y).Y)
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	return hi - lo
}

// ringShows is shows for the line of a wire along its ellipse.
func ringShows(img *image.Gray16, e measure.Ellipse, mm float64) float64 {
	const directions = 120
	span := leastStep * rangeOf(img)
	sinA, cosA := math.Sincos(e.Angle * math.Pi / 180)
	seen := 0.0
	for i := range directions {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / directions)
		u, v := e.A*cos, e.B*sin
		nu, nv := e.B*cos, e.A*sin // the normal, not of unit length
		norm := math.Hypot(nu, nv)
		x, y := e.X+u*cosA-v*sinA, e.Y+u*sinA+v*cosA
		nx, ny := (nu*cosA-nv*sinA)/norm, (nu*sinA+nv*cosA)/norm
		// A circle of no radius at that place has bands along the tangent.
		at := measure.Circle{X: x, Y: y}
		on, noise, ok1 := band(img, at, nx, ny, -0.3/mm, 0.3/mm, 1/mm)
		in, _, ok2 := band(img, at, nx, ny, -2/mm, -1.2/mm, 1/mm)
		out, _, ok3 := band(img, at, nx, ny, 1.2/mm, 2/mm, 1/mm)
		if ok1 && ok2 && ok3 && on-(in+out)/2 > max(3*math.Sqrt(1.5)*noise, span) {
			seen++
		}
	}
	return seen / directions
}

// showing says how much of the true outlines a film shows.
func showing(img *image.Gray16, t truth) (head, cup float64) {
	head = shows(img, t.head, t.mm, nil)
	if t.kind == measure.Wire {
		if t.rim.A == 0 {
			return head, 1
		}
		return head, ringShows(img, t.rim, t.mm)
	}
	// Only the dome can show: the half turn in which most of the circle does.
	best := 0.0
	for k := range 24 {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / 24)
		best = max(best, shows(img, t.cup, t.mm, func(c, s float64) bool { return c*cos+s*sin > 0 }))
	}
	return head, best
}
