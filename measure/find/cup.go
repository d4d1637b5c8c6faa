package find

import (
	"image"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// refineCup fits the marker's ellipse where a wire shows that is not the rim of a shell,
// as bowls tells it, else the circle of the shell.
func refineCup(img *image.Gray16, start measure.Circle, reach float64) (measure.Outline, error) {
	near := ringSearch{
		start: start.Center(), mm: start.R / 24, shift: 0.1 * start.R,
		inner: start.R - reach, outer: start.R + reach,
		hole: measure.Circle{X: start.X, Y: start.Y, R: 0.6 * start.R}, // a head, about
	}
	ring, sure, ok := near.run(img)
	o, err := refineCircle(img, start, reach, measure.Cup)
	if ok && (err != nil || sure >= rimSure || o.R-ring.R >= mantle*near.mm) {
		return ring, nil
	}
	if err == nil && !(&search{img: img}).convinces(o.Circle) {
		err = ErrNoOutline
	}
	return o, err
}

// domeward returns the mean of the unit vectors to the kept edges of an outline: that of
// half a turn is 0.64 long, that of a whole one 0.
func domeward(o measure.Outline) (mean measure.Point) {
	for _, p := range o.Points {
		mean.X += (p.X - o.X) / o.R / float64(len(o.Points))
		mean.Y += (p.Y - o.Y) / o.R / float64(len(o.Points))
	}
	return mean
}

// cupRange returns the smallest and the largest radius of a cup around a head, px: shell
// and liner are 2.5 mm thick or more (common practice, no source).
func cupRange(head measure.Circle, mm float64) (least, most float64) {
	return max(leastShell/mm, head.R+2.5/mm), mostShell / mm
}

// holdsHead reports whether a head lies within o.
func holdsHead(o measure.Outline, head measure.Circle) bool {
	return math.Hypot(o.X-head.X, o.Y-head.Y) < o.R-head.R
}

// brightest returns the angle, degrees, of the middle of the longest run of
// directions around o in which the grey level stays near the inside's out to
// twice the radius: the neck. ok is false where there is none. Its limits were tried by
// .ci/vary.
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
	typical, top := film.Median(slices.Clone(down)), slices.Max(down)
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
