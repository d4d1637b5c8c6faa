package measure

import (
	"cmp"
	"image"
	"math"
	"slices"
)

// bar is a marker ring seen edge-on: a bright straight line with two ends, its
// middle hidden by the head.
type bar struct {
	Ellipse         // B is zero
	width   float64 // half of the wire, px
	edges   []Edge
	across  float64 // variances of the centre across and along the line, px²
	along   float64
}

// settleBar brings a line that is right to a few px to its sub-pixel place: the
// middle from the crests across it, the ends from where the grey level falls
// fastest along it.
func settleBar(img *image.Gray16, e Ellipse, hole Circle) (Outline, bool) {
	film := crop(img, e.X, e.Y, 1.8*e.A+8)
	if film.v == nil {
		return Outline{}, false
	}
	b := bar{Ellipse: e, width: max(1.2, e.A/40)}
	b.B = 0
	for _, reach := range []float64{8 * b.width, 5 * b.width, 3 * b.width, 3 * b.width} {
		b.edges = b.edges[:0]
		if !b.straighten(&film, hole, reach, max(1.5*b.width, reach/3)) || !b.end(&film, 1.6*reach) {
			return Outline{}, false
		}
		if math.Hypot(b.X-e.X, b.Y-e.Y) > 0.25*e.A || math.Abs(b.A-e.A) > 0.25*e.A {
			return Outline{}, false
		}
	}
	return b.outline(), true
}

// axes returns the unit vectors along and across the line.
func (b *bar) axes() (u, v Point) {
	sin, cos := math.Sincos(b.Angle * math.Pi / 180)
	return Point{cos, sin}, Point{-sin, cos}
}

// straighten fits a straight line to the crests on both sides of the hole, after
// a blur of sigma px.
func (b *bar) straighten(film *patch, hole Circle, reach, sigma float64) bool {
	u, v := b.axes()
	half := int(math.Ceil(2.5 * sigma / step))
	kernel := crestKernel(sigma, half)
	bend := make([]float64, 2*int(math.Ceil(reach/step))+1)
	profile := make([]float64, len(bend)+2*half)
	var s, d, h []float64
	looked := [2]int{}
	found := [2]int{}
	for at := -b.A + 2*b.width; at <= b.A-2*b.width; at++ {
		p := Point{b.X + at*u.X, b.Y + at*u.Y}
		if hole.Distance(p) < 3*b.width || math.Abs(at) < 0.3*b.A {
			continue
		}
		side := 0
		if at > 0 {
			side = 1
		}
		looked[side]++
		if !along(film, p, v, profile) {
			continue
		}
		if off, height, ok := crest(profile, kernel, bend); ok {
			s, d, h = append(s, at), append(d, off), append(h, height)
		}
	}
	least := 0.4 * median(append([]float64{}, h...))
	weights := make([]float64, len(s))
	scale := reach
	var p, q float64
	for range 6 {
		var w0, ws, wss, wd, wsd float64
		for i := range s {
			weights[i] = 0
			x := (d[i] - p - q*s[i]) / scale
			if h[i] < least || math.Abs(x) >= 1 {
				continue
			}
			w := (1 - x*x) * (1 - x*x)
			weights[i] = w
			w0, ws, wss, wd, wsd = w0+w, ws+w*s[i], wss+w*s[i]*s[i], wd+w*d[i], wsd+w*s[i]*d[i]
		}
		det := w0*wss - ws*ws
		if !(det > 1e-9) {
			return false
		}
		p, q = (wss*wd-ws*wsd)/det, (w0*wsd-ws*wd)/det
		residuals := make([]float64, len(s))
		for i := range s {
			residuals[i] = d[i] - p - q*s[i]
		}
		spread := spreadOf(residuals, weights)
		scale = max(0.5, 4.7*spread)
		b.across = spread * spread * wss / det * (1 + 4*b.width)
	}
	for i, at := range s {
		e := Edge{Residual: d[i] - p - q*at, Angle: math.Mod(b.Angle+360, 360)}
		e.Point = Point{b.X + at*u.X + d[i]*v.X, b.Y + at*u.Y + d[i]*v.Y}
		if at < 0 {
			e.Angle = math.Mod(b.Angle+180, 360)
		}
		if weights[i] == 0 {
			e.Reject = rejectOther
		} else {
			side := 0
			if at > 0 {
				side = 1
			}
			found[side]++
		}
		b.edges = append(b.edges, e)
	}
	b.X, b.Y = b.X+p*v.X, b.Y+p*v.Y
	b.Angle += math.Atan(q) * 180 / math.Pi
	return min(looked[0], looked[1]) >= 4 && found[0]*2 >= looked[0] && found[1]*2 >= looked[1]
}

// end finds both ends of the line within reach px, on rows side by side, and
// centres the bar between them.
func (b *bar) end(film *patch, reach float64) bool {
	u, v := b.axes()
	half := int(math.Ceil(3 * b.width / step))
	kernel := slopeKernel(b.width, half)
	m := 2*int(math.Ceil(reach/step)) + 1
	profile := make([]float64, m+2*half)
	var ends, variance, strength [2]float64
	for side, sign := range []float64{-1, 1} {
		out := Point{sign * u.X, sign * u.Y}
		var rows [][]float64
		mean := make([]float64, len(profile))
		for row := -0.7 * b.width; row <= 0.7*b.width; row += 0.5 {
			p := Point{b.X + (b.A+b.width)*out.X + row*v.X, b.Y + (b.A+b.width)*out.Y + row*v.Y}
			if !along(film, p, out, profile) {
				return false
			}
			rows = append(rows, append([]float64{}, profile...))
			for j, x := range profile {
				mean[j] += x
			}
		}
		var tip fall // of the rows together
		for _, f := range falls(mean, kernel, m) {
			if f.strength > tip.strength {
				tip = f
			}
		}
		strength[side] = tip.strength / float64(len(rows))
		var at []float64
		for _, row := range rows {
			nearest := math.Inf(1)
			for _, f := range falls(row, kernel, m) {
				if math.Abs(f.at-tip.at) < math.Abs(nearest-tip.at) && f.strength > 0.3*strength[side] {
					nearest = f.at
				}
			}
			if math.Abs(nearest-tip.at) < 2*b.width {
				at = append(at, nearest)
			}
		}
		if len(at) < 3 {
			return false
		}
		middle := median(append([]float64{}, at...))
		var sum, squares, n float64
		for _, x := range at {
			if math.Abs(x-middle) < 2 {
				sum, squares, n = sum+x, squares+x*x, n+1
			}
		}
		if n*2 < float64(len(at)) {
			return false
		}
		end := sum / n
		// Rows half a px apart share their pixels: about one in three is new.
		ends[side], variance[side] = end, max(0.01, (squares/n-end*end)*3/n)
		b.edges = append(b.edges, Edge{Point: Point{b.X + (b.A+b.width+end)*out.X, b.Y + (b.A+b.width+end)*out.Y}, Angle: math.Mod(b.Angle+180*float64(1-side)+360, 360)})
	}
	if ratio := strength[0] / strength[1]; ratio < 0.5 || ratio > 2 {
		return false // the two ends are not of one wire
	}
	// The wire's centre line ends half a wire before the wire.
	shift := (ends[1] - ends[0]) / 2
	b.X, b.Y = b.X+shift*u.X, b.Y+shift*u.Y
	b.A += (ends[0] + ends[1]) / 2
	b.along = (variance[0] + variance[1]) / 4
	return true
}

// falls returns the falls of a profile whose slope has m samples, from its
// middle.
func falls(profile, kernel []float64, m int) []fall {
	slope := make([]float64, m)
	for j := range slope {
		for k, w := range kernel {
			slope[j] -= w * profile[j+k]
		}
	}
	return scan{inner: -step * float64(m/2)}.peaks(slope, profile, len(kernel)/2)
}

// outline reports the bar as a circle about its middle.
func (b *bar) outline() Outline {
	o := Outline{Edges: b.edges, Ring: b.Ellipse}
	o.Ring.Angle = math.Mod(math.Mod(b.Angle, 180)+180, 180)
	o.Circle = Circle{b.X, b.Y, b.A}
	var sum float64
	for _, e := range b.edges {
		if e.Reject == "" {
			o.Points = append(o.Points, e.Point)
			o.Residuals = append(o.Residuals, e.Residual)
			sum += e.Residual * e.Residual
		}
	}
	o.RMS = math.Sqrt(sum / float64(max(1, len(o.Points))))
	u, v := b.axes()
	o.Cov[0][0] = b.along*u.X*u.X + b.across*v.X*v.X
	o.Cov[0][1] = b.along*u.X*u.Y + b.across*v.X*v.Y
	o.Cov[1][0] = o.Cov[0][1]
	o.Cov[1][1] = b.along*u.Y*u.Y + b.across*v.Y*v.Y
	o.Cov[2][2] = b.along
	return o
}

// bars returns up to three lines that run on both sides of the hole and end
// where a ring's long axis could, the best first.
func (s ringSearch) bars(lines *ridgeMap) []Ellipse {
	type graded struct {
		Ellipse
		grade float64
	}
	var all []graded
	k := lines.k
	for angle := 0.0; angle < 180; angle += 2 {
		sin, cos := math.Sincos(angle * math.Pi / 180)
		u := Point{cos, sin}
		for d := -s.shift; d <= s.shift; d += k {
			p := Point{s.start.X - d*sin, s.start.Y + d*cos}
			right, on := s.limb(lines, p, u)
			left, also := s.limb(lines, p, Point{-u.X, -u.Y})
			a, shift := (right.tip+left.tip)/2, (right.tip-left.tip)/2
			if !on || !also || a < s.inner || a > s.outer || math.Abs(shift) > s.shift {
				continue
			}
			grade := 2*min(right.length, left.length) - 1.5*(right.beside+left.beside)
			if grade > 0 {
				all = append(all, graded{Ellipse{p.X + shift*u.X, p.Y + shift*u.Y, a, 0, angle}, grade})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b graded) int { return cmp.Compare(b.grade, a.grade) })
	var found []Ellipse
	for _, g := range all {
		near := func(e Ellipse) bool {
			d := math.Abs(e.Angle - g.Angle)
			return min(d, 180-d) < 8 && math.Hypot(e.X-g.X, e.Y-g.Y) < 6*k
		}
		if !slices.ContainsFunc(found, near) {
			if found = append(found, g.Ellipse); len(found) == 3 {
				break
			}
		}
	}
	return found
}

// limb is one half of a line seen edge-on, lengths in px.
type limb struct {
	tip    float64 // outer end, from the middle
	length float64
	beside float64 // how much of a parallel line five cells away is bright as well
}

// limb returns the longest bright run from p along u outside the hole.
func (s ringSearch) limb(lines *ridgeMap, p, u Point) (best limb, ok bool) {
	k := lines.k
	far := s.outer + s.shift
	start := -1.0
	for t := 0.0; t <= far+k; t += k {
		q := Point{p.X + t*u.X, p.Y + t*u.Y}
		if on := t <= far && s.hole.Distance(q) > 2*k && lines.on(q); on {
			if start < 0 {
				start = t
			}
			continue
		}
		if start >= 0 && t-start > best.length {
			best = limb{tip: t - 2*k, length: t - start}
		}
		start = -1
	}
	if best.length < 7*k {
		return limb{}, false
	}
	for t := best.tip - best.length; t < best.tip; t += k {
		for _, side := range []float64{-5 * k, 5 * k} {
			if lines.on(Point{p.X + t*u.X - side*u.Y, p.Y + t*u.Y + side*u.X}) {
				best.beside += k / 2
			}
		}
	}
	return best, true
}

// on reports whether a line runs through p.
func (m *ridgeMap) on(p Point) bool {
	i, j := int((p.X-float64(m.x0))/m.k), int((p.Y-float64(m.y0))/m.k)
	return p.X > float64(m.x0) && p.Y > float64(m.y0) && i < m.w && j < m.h && m.v[j*m.w+i] > 0.5
}
