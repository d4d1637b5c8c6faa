package find

import (
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

const (
	ringReach = 4.0 // mm that Ring looks around the start
	ringStay  = 0.5 // mm within which it takes the ring for found where the start lies
)

// Ring fits the ellipse of a wire marker ring near start, which may be 3 mm
// off, as Hips does. head is the outline of the head, which hides a part of the
// ring, and headMM its diameter, which tells what a mm is.
//
// The picture of the whole ring, both lines and their bright ends, is fitted to the
// curvature of the film from start. Only where that leads elsewhere are the places
// around start looked at. Where the two lines lie well apart, their crests are
// fitted instead.
//
// The error is ErrNoOutline where no wire stands out.
func Ring(img *image.Gray16, start measure.Ellipse, head measure.Circle, headMM float64) (measure.Outline, error) {
	if err := measure.Positive("head diameter", headMM, "mm"); err != nil {
		return measure.Outline{}, err
	}
	if !measure.Finite(start.X, start.Y, start.A, start.B, start.Angle, head.X, head.Y, head.R) || !(head.R >= 4) || head.R > 1e5 {
		return measure.Outline{}, ErrNoOutline
	}
	start.Angle = math.Mod(math.Mod(start.Angle, 180)+180, 180)
	mm := headMM / 2 / head.R
	wide := ringAround(head, mm)
	near := wide
	near.start.X, near.start.Y, near.shift = start.X, start.Y, ringReach/mm
	near.inner = max(wide.inner, start.A-near.shift)
	near.outer = min(wide.outer, start.A+near.shift)
	if near.inner > near.outer {
		return measure.Outline{}, ErrNoOutline
	}
	m, ok := wide.newMap(img)
	if !ok {
		return measure.Outline{}, ErrNoOutline
	}
	seeds := []measure.Ellipse{start}
	match, cov := near.modelHere(m, start)
	if found := m.ellipse(match.theta); match.share < ringShare || ringsApart(found, start) > ringStay/mm {
		seeds = near.moved(m, start)
		match, cov = near.model(m, seeds)
	}
	var o measure.Outline
	if match.share >= ringShare {
		o, ok = near.settled(img, m, match, cov)
	} else {
		o, ok = near.clearer(img, m, seeds, match, cov)
	}
	if !ok || !holdsHead(o, head) {
		return measure.Outline{}, ErrNoOutline
	}
	return o, nil
}

// modelHere is model from a start that already explains some of the map.
func (s ringSearch) modelHere(m *ringMap, start measure.Ellipse) (match ringMatch, cov [5][5]float64) {
	r, t := s.newModel(m, 0.004, 15), m.theta(start, s.line(m))
	if r.match(t, false).share < ringShare/2 {
		return match, cov
	}
	match, ok := r.descend(t)
	if !ok {
		return ringMatch{}, cov
	}
	return s.ended(r, match)
}

// moved returns up to two ellipses near start that explain much of the coarse map:
// it is looked along in all places within reach, in other sizes, turns and widths.
func (s ringSearch) moved(m *ringMap, start measure.Ellipse) []measure.Ellipse {
	unit := s.start.R / 27 // about a mm
	coarse := m.coarse(s)
	blur := max(1, 1.05*unit/coarse.k)
	tr := coarse.trace(blur)
	shapes := alike(start, 2*unit)
	n := int(s.shift / unit)
	pool := make([]found, (2*n+1)*(2*n+1))
	lines := make([]*ringLine, len(shapes))
	for i, e := range shapes {
		lines[i] = newRingLine(e, coarse.k, blur)
	}
	film.InBands(len(pool), func(from, to int) {
		for i := from; i < to; i++ {
			x, y := start.X+unit*float64(i%(2*n+1)-n), start.Y+unit*float64(i/(2*n+1)-n)
			for _, l := range lines {
				if w := tr.weigh(l, x, y); w > pool[i].grade {
					pool[i] = found{l.Ellipse, w}
					pool[i].X, pool[i].Y = x, y
				}
			}
		}
	})
	r := s.newModel(coarse, 0.02, 10)
	all := apart(pool, 10, 0.7*unit)
	for i, f := range all {
		all[i].grade = r.match(coarse.theta(f.Ellipse, blur), false).weight()
	}
	all = likely(apart(all, 4, 0))
	film.InBands(len(all), func(from, to int) {
		r := s.newModel(coarse, 0.02, 10)
		for i := from; i < to; i++ {
			k, _ := r.descend(coarse.theta(all[i].Ellipse, blur))
			all[i] = found{coarse.ellipse(k.theta), k.weight()}
		}
	})
	var out []measure.Ellipse
	for _, f := range likely(apart(all, 2, 0.3*unit)) {
		out = append(out, f.Ellipse)
	}
	return out
}

// likely returns those of all, the best first, whose grade is not far below the best.
func likely(all []found) []found {
	for i, f := range all {
		if f.grade < 0.2*all[0].grade {
			return all[:i]
		}
	}
	return all
}

// alike returns ellipses about the centre of e that are as large, as wide and turned as
// it, or by d px more or less, in any combination.
func alike(e measure.Ellipse, d float64) (all []measure.Ellipse) {
	for _, a := range []float64{0, -d, d} {
		for _, b := range []float64{0, -d, d} {
			for _, turn := range []float64{0, -d, d} {
				f := e
				f.A += a
				f.B = e.B*f.A/e.A + b
				f.Angle += turn / e.A * 180 / math.Pi
				if f.B >= 0 {
					all = append(all, f)
				}
			}
		}
	}
	return all
}

// ringTrace tells in a few looks what the picture of a ring would explain of a map.
type ringTrace struct {
	*ringMap
	line  []float32 // product of the map with the picture of a spot at each cell
	power []float32 // mean of the squares of the map around each cell
}

func (m *ringMap) trace(blur float64) ringTrace {
	line, power := film.Patch{W: m.w, H: m.h, V: make([]float32, len(m.bend))}, film.Patch{W: m.w, H: m.h, V: make([]float32, len(m.bend))}
	for i, v := range m.bend {
		if !m.hidden[i] {
			line.V[i], power.V[i] = v, v*v
		}
	}
	line.Blur(blur)
	power.Blur(blur)
	return ringTrace{m, line.Bend(), power.V}
}

// ringLine is an ellipse about the origin, as spots to look at, in cells.
type ringLine struct {
	ringShape
	bright [ringPoints]float32 // of the spots
	square [ringPoints]float32 // what each adds to the sum of squares of the picture
}

func newRingLine(e measure.Ellipse, k, blur float64) *ringLine {
	l := &ringLine{ringShape: *newRingShape(e, k)}
	for i := range ringPoints {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / ringPoints)
		h := math.Hypot(sin, e.B/e.A*cos)
		w := h / math.Hypot(h, ringFloor)
		// The other line lies that many blurs apart.
		u := 2 * e.B * math.Abs(sin) / k / blur
		l.bright[i] = float32(w)
		l.square[i] = float32(w * w * (1 + (1-u*u+u*u*u*u/12)*math.Exp(-u*u/4)))
	}
	return l
}

// weigh returns about what the match of the line about (x, y) would count.
func (t *ringTrace) weigh(l *ringLine, x, y float64) float64 {
	cx, cy := float32((x-t.x0)/t.k), float32((y-t.y0)/t.k)
	var product, squares, power float32
	seen := 0
	for i := range ringPoints {
		px, py := cx+l.x[i], cy+l.y[i]
		if !(px >= 0 && py >= 0 && px < float32(t.w) && py < float32(t.h)) {
			continue
		}
		c := int(py)*t.w + int(px)
		if t.hidden[c] {
			continue
		}
		seen++
		product += l.bright[i] * t.line[c]
		squares += l.square[i]
		power += t.power[c]
	}
	if seen < ringPoints/4 || product <= 0 || power <= 0 {
		return 0
	}
	explains := float64(product) * float64(product) / float64(squares)
	return explains * explains / float64(power)
}

// ringsApart returns about how far two ellipses lie apart where that is most, px.
func ringsApart(e measure.Ellipse, f measure.Ellipse) float64 {
	turn := math.Abs(math.Mod(e.Angle-f.Angle+270, 180) - 90)
	return max(math.Hypot(e.X-f.X, e.Y-f.Y), math.Abs(e.A-f.A), math.Abs(e.B-f.B), turn*math.Pi/180*e.A)
}
