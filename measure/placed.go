package measure

import (
	"math"
)

// Click is a point that a hand has placed on a film.
type Click struct {
	Point
	SD float64 // standard deviation of its place along each axis, px
}

// The errors of points of which no outline is told.
var (
	ErrStraight = Fault("shape.straight", nil)
	ErrNotAside = Fault("shape.not-aside", nil)
	ErrTooWide  = Fault("shape.too-wide", nil)
)

// CircleThrough returns the circle through three points. Where their sagitta is
// below a hundredth of the longest chord, which is what a hand can place, the error
// is ErrStraight.
func CircleThrough(p [3]Point) (Circle, error) {
	c, d := circleThrough(p)
	longest := max(p[0].Distance(p[1]), p[1].Distance(p[2]), p[2].Distance(p[0]))
	if !(math.Abs(d) >= 0.02*longest*longest) || longest == 0 {
		return Circle{}, ErrStraight
	}
	return c, nil
}

// circleThrough also returns four times the area of the points' triangle, signed.
func circleThrough(p [3]Point) (c Circle, d float64) {
	ax, ay := p[1].X-p[0].X, p[1].Y-p[0].Y
	bx, by := p[2].X-p[0].X, p[2].Y-p[0].Y
	a, b := ax*ax+ay*ay, bx*bx+by*by
	d = 2 * (ax*by - ay*bx)
	x, y := (by*a-ay*b)/d, (ax*b-bx*a)/d
	return Circle{p[0].X + x, p[0].Y + y, math.Hypot(x, y)}, d
}

// ClickedCircle returns the circle through three clicks on an edge, with the
// covariance of its X, Y and R, px²: the mean product of what they change by when
// the clicks err. What a click errs along the edge leaves the circle as it is, to
// first order. The mean is taken over the errors across it by the product rule of
// Gauss and Hermite, three nodes for each click (Ito & Xiong 2000, IEEE Trans
// Automat Control 45:910, there for filters). Where the clicks lie far apart that is
// J diag(SD²) J' with the Jacobian J; on short arcs the radius follows one over the
// sagitta, and the rule holds the skew and the bias of that, which J does not.
// Of a radius that lies in a known range, only errors that lead there count.
func ClickedCircle(by [3]Click, known Radii) (c Circle, cov [3][3]float64, err error) {
	p := [3]Point{by[0].Point, by[1].Point, by[2].Point}
	if c, err = CircleThrough(p); err != nil {
		return c, cov, err
	}
	add := func(at []float64, w float64) {
		e := erring(by, c, at)
		if d := [3]float64{e.X - c.X, e.Y - c.Y, e.R - c.R}; Finite(d[:]...) {
			AddSquares(cov[:], w, d)
		}
	}
	if !known.within(by, c, add) {
		nodes(3, add)
	}
	return c, cov, nil
}

// erring returns the circle through clicks on c that err across it by at, SD.
func erring(by [3]Click, c Circle, at []float64) Circle {
	var q [3]Point
	for i, x := range at {
		k := x * by[i].SD / c.R
		q[i] = Point{by[i].X + k*(by[i].X-c.X), by[i].Y + k*(by[i].Y-c.Y)}
	}
	e, _ := circleThrough(q)
	return e
}

// nodes visits the three nodes of Gauss and Hermite for a standard normal variable
// along each of n axes, in all combinations; w is the weight of one.
func nodes(n int, visit func(at []float64, w float64)) {
	at := make([]float64, n)
	for k := range int(math.Pow(3, float64(n))) {
		w := 1.0
		for i := range at {
			at[i] = math.Sqrt(3) * float64(k%3-1)
			w *= [3]float64{1. / 6, 2. / 3, 1. / 6}[k%3]
			k /= 3
		}
		visit(at, w)
	}
}

// RingThrough returns the ellipse with the ends a and b of its long axis through p, which
// may lie as far along it as where a click errs three times as much on the short one.
func RingThrough(a, b, p Point) (Ellipse, error) {
	e, q := ringThrough(a, b, p)
	switch {
	case !(math.Abs(q) <= 0.95):
		return e, ErrNotAside
	case e.B > e.A:
		return e, ErrTooWide
	}
	return e, nil
}

// ringThrough also returns where p lies along the long axis, from -1 to 1.
func ringThrough(a, b, p Point) (e Ellipse, q float64) {
	e = Ellipse{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2, A: a.Distance(b) / 2,
		Angle: math.Atan2(b.Y-a.Y, b.X-a.X) * 180 / math.Pi}
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	q = ((p.X-e.X)*cos + (p.Y-e.Y)*sin) / e.A
	e.B = math.Abs((p.Y-e.Y)*cos-(p.X-e.X)*sin) / math.Sqrt((1-q)*(1+q))
	e.Angle = math.Mod(e.Angle+180, 180)
	return e, q
}

// ClickedRing returns the ellipse of a wire ring of which the ends of the long axis
// and a point on the wire were clicked, with the covariance of its X, Y, A, B (px)
// and Angle (radians), as ClickedCircle has that of a circle; the point on the wire
// errs across it. The ends are taken to be as well placed along the wire as across
// it: the reader sees the whole ring with the last click.
func ClickedRing(a, b, p Click) (e Ellipse, cov [5][5]float64, err error) {
	if e, err = RingThrough(a.Point, b.Point, p.Point); err != nil {
		return e, cov, err
	}
	across := e.Normal(p.Point)
	nodes(5, func(at []float64, w float64) {
		move := func(c Click, x, y float64) Point { return Point{c.X + c.SD*x, c.Y + c.SD*y} }
		f, q := ringThrough(move(a, at[0], at[1]), move(b, at[2], at[3]), move(p, across.X*at[4], across.Y*at[4]))
		turn := math.Remainder(f.Angle-e.Angle, 180) * math.Pi / 180
		d := [5]float64{f.X - e.X, f.Y - e.Y, f.A - e.A, f.B - e.B, turn}
		if math.Abs(q) < 1 && Finite(d[:]...) {
			AddSquares(cov[:], w, d)
		}
	})
	return e, cov, nil
}
