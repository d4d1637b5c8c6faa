package main

import (
	"image"
	"math"
	"slices"

	"linerwatch/measure"
)

// hidden is the share of an outline below which there is too little of it for
// anybody to draw it.
const hidden = 0.2

// shows returns the share of a true outline's directions, from 0 to 1, in which the
// film rises inwards at the outline by more than noise makes, three standard errors
// and at least leastStep of the film's range, and faster by a third, and by what
// noise makes, than somewhere within 1.2 mm on either side of it: a step, not a
// slope. only says which
// directions count. mm is that of a pixel.
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
		// Bands of 0.3 by 6 mm, over which an eye takes the mean, from inside outwards.
		var rise [9]float64
		last, noise, good := math.NaN(), 0.0, true
		for k := range len(rise) + 1 {
			at := 0.3*float64(k) - 1.5
			mean, se, ok := band(img, c, cos, sin, at/mm, (at+0.3)/mm, 6/mm)
			if good = good && ok; !good {
				break
			}
			if k > 0 {
				rise[k-1] = last - mean
			}
			last, noise = mean, max(noise, se)
		}
		here := slices.Max(rise[3:6])
		beside := max(slices.Min(rise[:3]), slices.Min(rise[6:]))
		if sure := 3 * math.Sqrt2 * noise; good && here > max(sure, span, 4.0/3*beside, beside+sure) {
			seen++
		}
	}
	return seen / max(1, all)
}

// leastStep is the least rise over 0.3 mm that counts, as a share of a film's range
// of greys.
const leastStep = 0.002

// band returns the mean of the film between two distances from a circle over a
// length along it, or along the tangent of a circle of no radius, and its standard
// error by the differences of neighbours.
func band(img *image.Gray16, c measure.Circle, cos, sin, from, to, length float64) (mean, se float64, ok bool) {
	var sum, squares, n, pairs float64
	for d := from; d <= to; d++ {
		last := math.NaN()
		for t := -length / 2; t <= length/2; t++ {
			x, y := c.X+d*cos-t*sin, c.Y+d*sin+t*cos
			if c.R > 0 {
				s, k := math.Sincos(t / c.R)
				x, y = c.X+(c.R+d)*(cos*k-sin*s), c.Y+(c.R+d)*(sin*k+cos*s)
			}
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
