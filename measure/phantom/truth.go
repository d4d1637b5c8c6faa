package phantom

import (
	"math"

	"linerwatch/measure"
)

// Truth is what an ideal observer would draw on the film.
type Truth struct {
	Side      measure.Side
	Head, Cup measure.Circle  // px, geometric circle fits to the exact silhouettes
	Rim       measure.Ellipse // px, of the outer edge of a shell's rim or of the wire's centre line
	Offset    measure.Vector  // Head - Cup in mm at the hip, no covariance
}

// Truths returns the ideal observer's outlines, one per entry of s.Hips.
//
// Head is the circle nearest, in orthogonal distance, to the whole projected
// silhouette of the head. Cup is, for a shell, the circle nearest to the part
// of its silhouette that the outer hemisphere forms; for a wire ring, the
// circle about the projection of its centre, which is not that of the ellipse that
// the wire's centre line projects to, its radius half of the ellipse's long axis. The
// millimetre of Offset is the head's, HeadMM / (2 Head.R); Superior and Medial are
// along the film's columns and rows, and on a lateral film along the body and
// anterior. Errors are *SceneError.
func Truths(s Scene) ([]Truth, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	v := newView(s)
	truths := make([]Truth, len(s.Hips))
	for i, h := range s.Hips {
		t := Truth{Side: h.Side}
		t.Head = nearestCircle(v.silhouette(h.headCenter(), h.HeadMM/2, vec{}, 0))
		if h.Cup == measure.Shell {
			t.Cup = nearestCircle(v.silhouette(h.cupCenter(), h.ShellMM/2, h.opening(), h.RimMM))
			t.Rim = v.ringEllipse(h.rimCenter(), h.opening(), math.Sqrt(h.ShellMM*h.ShellMM/4-h.RimMM*h.RimMM))
		} else {
			t.Rim = v.ringEllipse(h.cupCenter(), h.opening(), h.wireRadius())
			at := v.project(h.cupCenter())
			t.Cup = measure.Circle{X: at.X, Y: at.Y, R: t.Rim.A}
		}
		mm := h.HeadMM / (2 * t.Head.R)
		t.Offset.Superior = (t.Cup.Y - t.Head.Y) * mm
		t.Offset.Medial = (t.Head.X - t.Cup.X) * mm * h.Side.Medial()
		if s.isLateral() { // the front is where lateral is on an AP film
			t.Offset.Medial = -t.Offset.Medial
		}
		truths[i] = t
	}
	return truths, nil
}

// silhouette returns points of a sphere's outline on the film, evenly around
// the circle in which rays touch it. With an opening, only points on the dome,
// which reaches no further than rim towards it.
func (v *view) silhouette(c vec, r float64, opening vec, rim float64) []measure.Point {
	const n = 3600
	axis := v.source.sub(c)
	d := axis.norm()
	axis = axis.mul(1 / d)
	a, b := axis.basis()
	center, radius := c.at(axis, r*r/d), r*math.Sqrt(1-r*r/(d*d))
	var points []measure.Point
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		p := center.at(a, radius*cos).at(b, radius*sin)
		if p.sub(c).dot(opening) <= rim {
			points = append(points, v.project(p))
		}
	}
	return points
}

// ringEllipse returns the ellipse that a ring projects to, exactly, from the dual
// conic of the ring's image (Hartley R, Zisserman A. Multiple View Geometry, 2nd
// ed. 2004, chapter 8).
func (v *view) ringEllipse(c, axis vec, r float64) measure.Ellipse {
	a, b := axis.basis()
	h := [3]vec{v.lift(a.mul(r), 0), v.lift(b.mul(r), 0), v.lift(c, 1)}
	// dual is h diag(1, 1, -1) h', with the points (cos, sin, 1) on the ring.
	dual := func(get1, get2 func(vec) float64) float64 {
		return get1(h[0])*get2(h[0]) + get1(h[1])*get2(h[1]) - get1(h[2])*get2(h[2])
	}
	x := func(p vec) float64 { return p.x }
	y := func(p vec) float64 { return p.y }
	w := func(p vec) float64 { return p.z }
	k := dual(w, w)
	cx, cy := dual(x, w)/k, dual(y, w)/k
	// The ellipse is the centre plus the square root of (sxx sxy; sxy syy).
	sxx, sxy, syy := cx*cx-dual(x, x)/k, cx*cy-dual(x, y)/k, cy*cy-dual(y, y)/k
	mean, half := (sxx+syy)/2, math.Hypot((sxx-syy)/2, sxy)
	at := v.film(cx, cy)
	return measure.Ellipse{
		X: at.X, Y: at.Y, A: math.Sqrt(mean + half), B: math.Sqrt(max(0, mean-half)),
		Angle: math.Mod(math.Atan2(2*sxy, sxx-syy)/2*180/math.Pi+180, 180),
	}
}

// nearestCircle returns the circle with the least sum of squared orthogonal
// distances to points, by Gauss-Newton from their mean. It is kept apart from
// the fit of package measure, which is checked against it.
func nearestCircle(points []measure.Point) measure.Circle {
	var c measure.Circle
	n := float64(len(points))
	for _, p := range points {
		c.X += p.X / n
		c.Y += p.Y / n
	}
	for _, p := range points {
		c.R += math.Hypot(p.X-c.X, p.Y-c.Y) / n
	}
	for range 100 {
		// R eliminated: residual is distance less the mean distance.
		var mx, my, md float64
		for _, p := range points {
			d := math.Hypot(p.X-c.X, p.Y-c.Y)
			mx, my, md = mx+(p.X-c.X)/d/n, my+(p.Y-c.Y)/d/n, md+d/n
		}
		var xx, xy, yy, gx, gy float64
		for _, p := range points {
			d := math.Hypot(p.X-c.X, p.Y-c.Y)
			jx, jy, e := (p.X-c.X)/d-mx, (p.Y-c.Y)/d-my, d-md
			xx, xy, yy = xx+jx*jx, xy+jx*jy, yy+jy*jy
			gx, gy = gx+jx*e, gy+jy*e
		}
		det := xx*yy - xy*xy
		dx, dy := (gx*yy-gy*xy)/det, (gy*xx-gx*xy)/det
		c.X, c.Y, c.R = c.X+dx, c.Y+dy, md
		if math.Hypot(dx, dy) < 1e-9 {
			break
		}
	}
	var md float64
	for _, p := range points {
		md += math.Hypot(p.X-c.X, p.Y-c.Y) / n
	}
	c.R = md
	return c
}
