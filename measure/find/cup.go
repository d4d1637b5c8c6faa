package find

import (
	"image"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// refineCup fits the shell's circle where its rim is metal, else the marker's
// ellipse where a wire runs along it. It does not fall back to the circle of
// what is neither, the cement say.
func refineCup(img *image.Gray16, start measure.Circle, reach float64) (measure.Outline, error) {
	o, err := refineCircle(img, start, reach)
	if err == nil && rimOf(img, o).metal() {
		return o, nil
	}
	search := ringSearch{
		start: start.Center(), mm: start.R / 24, shift: 0.1 * start.R,
		inner: start.R - reach, outer: start.R + reach,
		hole: measure.Circle{X: start.X, Y: start.Y, R: 0.6 * start.R}, // a head, about
	}
	if ring, _, ok := search.run(img); ok {
		return ring, nil
	}
	return o, ErrNoOutline
}

// rim says how bright a cup's outline is just inside and by how much the grey
// level falls across it, as shares of the range around.
type rim struct {
	inside, fall float64
	dome         measure.Point // unit vector from the centre to the middle of the kept arc
	spread       float64
}

// metal reports whether the outline bounds metal. On phantom films shells have
// inside 0.85 or more and fall 0.57 or more, clipped ones inside 0.99 and fall
// 0.4; a cement mantle 0.71 and 0.33.
func (r rim) metal() bool {
	return r.inside >= 0.8 && r.fall >= 0.45 || r.inside >= 0.95 && r.fall >= 0.35
}

// rimOf looks at both sides of the kept edges.
func rimOf(img *image.Gray16, o measure.Outline) (r rim) {
	part := film.Square(img, o.X, o.Y, 1.2*o.R)
	if part.Empty() {
		return r
	}
	q := film.Quantiles(img, part)
	inside, fall := make([]float64, 0, len(o.Edges)), make([]float64, 0, len(o.Edges))
	d := 0.05 * o.R
	for _, e := range o.Edges {
		if e.Reject != "" {
			continue
		}
		ux, uy := (e.X-o.X)/o.R, (e.Y-o.Y)/o.R
		r.dome.X += ux
		r.dome.Y += uy
		in, ok := film.Level(img, e.X-d*ux, e.Y-d*uy)
		out, ok2 := film.Level(img, e.X+d*ux, e.Y+d*uy)
		if ok && ok2 {
			inside = append(inside, in)
			fall = append(fall, in-out)
		}
	}
	span := q.High - q.Low
	if len(inside) == 0 || span <= 0 {
		return r
	}
	r.inside = (film.Median(inside) - q.Low) / span
	r.fall = film.Median(fall) / span
	if n := math.Hypot(r.dome.X, r.dome.Y); n > 0 {
		r.spread = n / float64(len(inside))
		r.dome = measure.Point{X: r.dome.X / n, Y: r.dome.Y / n}
	}
	return r
}

// cupRange returns the smallest and the largest radius of a cup around a head, px.
func cupRange(head measure.Circle, mm float64) (least, most float64) {
	return max(leastShell/mm, head.R+2.5/mm), mostShell / mm
}

// holdsHead reports whether a head lies within o.
func holdsHead(o measure.Outline, head measure.Circle) bool {
	return math.Hypot(o.X-head.X, o.Y-head.Y) < o.R-head.R
}

// brightest returns the angle, degrees, of the middle of the longest run of
// directions around o in which the grey level stays near the inside's out to
// twice the radius: the neck. ok is false where there is none.
func brightest(img *image.Gray16, o measure.Circle) (angle float64, ok bool) {
	patch := film.Crop(img, o.X, o.Y, 2.2*o.R)
	if len(patch.V) == 0 {
		return 0, false
	}
	const n = 120
	lows := make([]float64, n)
	for i := range lows {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		low := math.Inf(1)
		for r := 1.15; r <= 1.9; r += 0.05 {
			if v, on := patch.At(o.X+r*o.R*cos, o.Y+r*o.R*sin); on {
				low = min(low, v)
			} else {
				low = math.Inf(-1)
			}
		}
		lows[i] = low
	}
	// The neck is the only metal below the head, so only the lower half counts.
	down := lows[:n/2+1]
	sorted := slices.Clone(down)
	slices.Sort(sorted)
	typical := sorted[len(sorted)/2]
	top := sorted[len(sorted)-1]
	if !measure.Finite(typical, top) || top <= typical {
		return 0, false
	}
	var sx, sy, weight float64
	for i, v := range down {
		if w := (v - typical) / (top - typical); w > 0.6 {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
			sx, sy, weight = sx+w*cos, sy+w*sin, weight+w
		}
	}
	if math.Hypot(sx, sy) < 0.8*weight {
		return 0, false
	}
	return math.Atan2(sy, sx) * 180 / math.Pi, true
}
