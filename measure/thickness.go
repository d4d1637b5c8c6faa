package measure

import (
	"math"
)

// ErrConcentric is the error of outlines about one centre, between which no
// path is the thinnest.
var ErrConcentric = Fault("shape.concentric", nil)

// errSides is the error of films that are compared and show different sides.
var errSides = Fault("shape.two-sides", nil)

// Outlines is what the thickness of a liner is read from: the two fitted
// outlines of one film, corrected for the cone beam or not.
type Outlines struct {
	Head, Cup CircleFit
	HeadMM    float64 // the head's nominal diameter, which gives the scale
	Side      Side
	Alpha     float64 // of the reference line to the image rows, degrees
}

// Length is a length at the level of the hip with its standard error, mm.
type Length struct{ MM, SE float64 }

// Gap is the space between the outlines of head and cup on one film, of which
// Reading.Thinnest is the narrowest path. What it holds is polyethylene only where the
// cup's outline is the liner's back.
type Gap struct {
	Widest    Length
	Direction float64 // of the narrowest path from superior, medial positive, degrees
	// Uniradiograph is half of the difference of the widest and the narrowest path,
	// the wear of a liner that was as thick all round (Charnley & Cupic 1973). For
	// circles it is the distance between the centres.
	Uniradiograph Length
}

// Gap returns the gap between the outlines. The errors are those of Read,
// ErrConcentric, and *RangeError of a head whose centre is outside the cup.
func (o Outlines) Gap() (Gap, error) {
	if err := o.check(); err != nil {
		return Gap{}, err
	}
	r, err := o.read()
	if err != nil {
		return Gap{}, err
	}
	length, se := r.Offset.Magnitude()
	if length == 0 {
		return Gap{}, ErrConcentric
	}
	g := Gap{Direction: r.Offset.Direction(), Uniradiograph: Length{length, se}}
	t, by, _ := o.ray(g.Direction + 180)
	g.Widest = o.length(t, by)
	g.Widest.MM -= o.HeadMM / 2
	return g, nil
}

// Shortest is what the shortest-distance technique says about two films.
type Shortest struct {
	Wear      Length  // distance on the baseline less that on the latest film
	Direction float64 // in which it was read, degrees from superior, medial positive
	Baseline  Length  // from the head's centre to the cup's outline
	Latest    Length
}

// ShortestDistance is the technique of Livermore et al. (1990): on the latest
// film the shortest line from the head's centre to the cup's outline, and on
// the baseline film the line of the same direction to the reference line; the
// wear is the difference. The standard error is propagated to first order from
// all four outlines, the error of the direction included; the two films have
// only Shared in common, and the reference lines are taken as exact. Two films
// of one hip share HeadMM and Side.
func ShortestDistance(baseline, latest Outlines) (Shortest, error) {
	for _, o := range []Outlines{baseline, latest} {
		if err := o.check(); err != nil {
			return Shortest{}, err
		}
	}
	if baseline.Side != latest.Side {
		return Shortest{}, errSides
	}
	if baseline.HeadMM != latest.HeadMM {
		return Shortest{}, Fault("shape.two-heads", nil)
	}
	dx, dy := latest.Head.X-latest.Cup.X, latest.Head.Y-latest.Cup.Y
	e := math.Hypot(dx, dy)
	if e == 0 {
		return Shortest{}, ErrConcentric
	}
	sin, cos := sincos(latest.Alpha)
	medial := latest.Side.Medial() * (dx*cos + dy*sin)
	s := Shortest{Direction: atan2(medial, dx*sin-dy*cos)}

	then, gThen, turn := baseline.ray(s.Direction)
	now, gNow, _ := latest.ray(s.Direction)
	s.Baseline, s.Latest = baseline.length(then, gThen), latest.length(now, gNow)
	s.Wear.MM = s.Baseline.MM - s.Latest.MM
	// The latest film's centres turn the line, which the baseline feels; turned
	// about its shortest line the latest film feels nothing. turn is for an angle
	// on the image from +x towards +y, and the images differ by a fixed angle.
	k := turn * baseline.scale() / latest.scale() / e
	gNow[0] -= k * -dy / e
	gNow[1] -= k * dx / e
	gNow[3] += k * -dy / e
	gNow[4] += k * dx / e
	s.Wear.SE = difference(baseline, latest, baseline.scaled(then, gThen), latest.scaled(now, gNow))
	return s, nil
}

// Duoradiograph returns the change of the narrowest path between two films, by
// which Charnley & Cupic (1973) read the wear of a liner whose first film is at
// hand (from memory): narrowest then less narrowest now, whatever the two
// directions are.
func Duoradiograph(baseline, latest Outlines) (Length, error) {
	then, err := baseline.read()
	if err != nil {
		return Length{}, err
	}
	now, err := latest.read()
	if err != nil {
		return Length{}, err
	}
	by := func(o Outlines, r Reading) [6]float64 {
		ux, uy := o.Head.X-o.Cup.X, o.Head.Y-o.Cup.Y
		if d := math.Hypot(ux, uy); d > 0 {
			ux, uy = ux/d, uy/d
		}
		return thinnestBy(r.Scale, r.Thinnest, o.Head.R, ux, uy)
	}
	return Length{then.Thinnest - now.Thinnest, difference(baseline, latest, by(baseline, then), by(latest, now))}, nil
}

// difference returns the standard error of a length on one film less that on
// another, for their gradients. What the films share counts as far as the
// gradients differ.
func difference(a, b Outlines, ga, gb [6]float64) float64 {
	var d [6]float64
	for i := range d {
		d[i] = ga[i] - gb[i]
	}
	sharedA, sharedB := joint(a.Head.Shared, a.Cup.Shared), joint(b.Head.Shared, b.Cup.Shared)
	allA, allB := joint(a.Head.Cov, a.Cup.Cov), joint(b.Head.Cov, b.Cup.Cov)
	v := Product(ga, allA[:], ga) - Product(ga, sharedA[:], ga)
	v += Product(gb, allB[:], gb) - Product(gb, sharedB[:], gb)
	v += (Product(d, sharedA[:], d) + Product(d, sharedB[:], d)) / 2
	return math.Sqrt(max(0, v))
}

func (o Outlines) check() error {
	if err := checkOutlines(o.Head, o.Cup, o.HeadMM, o.Side, o.Alpha); err != nil {
		return err
	}
	if e := math.Hypot(o.Head.X-o.Cup.X, o.Head.Y-o.Cup.Y); !(e < o.Cup.R) {
		return &RangeError{"distance between the centres", e, "px", "must be less than the cup's radius"}
	}
	return nil
}

func (o Outlines) read() (Reading, error) { return Read(o.Head, o.Cup, o.HeadMM, o.Side, o.Alpha) }

func (o Outlines) scale() float64 { return o.HeadMM / (2 * o.Head.R) }

// ray returns the distance in px from the head's centre to the cup's outline in a
// direction of the hip's frame, its gradient in head X, Y, R, cup X, Y, R, and its
// derivative by the line's angle on the image, radians. With e the vector from cup
// centre to head centre, u the direction and R the cup's radius it is
// -e.u + sqrt(R² - |e|² + (e.u)²).
func (o Outlines) ray(direction float64) (t float64, g [6]float64, turn float64) {
	up, in := sincos(direction)
	up, in = in, up*o.Side.Medial() // cosine is superior, sine medial
	sin, cos := sincos(o.Alpha)
	ux, uy := in*cos+up*sin, in*sin-up*cos
	ex, ey := o.Head.X-o.Cup.X, o.Head.Y-o.Cup.Y
	along, across := ex*ux+ey*uy, ey*ux-ex*uy
	t = math.Sqrt((o.Cup.R-across)*(o.Cup.R+across)) - along
	// n is the unit normal of the cup's outline where the line meets it:
	// n.(de + dt u + t du) = dR.
	nx, ny := (ex+t*ux)/o.Cup.R, (ey+t*uy)/o.Cup.R
	toward := nx*ux + ny*uy
	g = [6]float64{-nx / toward, -ny / toward, 0, nx / toward, ny / toward, 1 / toward}
	return t, g, -t * (ny*ux - nx*uy) / toward
}

// scaled brings the gradient of a distance of t px to mm, the scale's own
// included.
func (o Outlines) scaled(t float64, g [6]float64) [6]float64 {
	s := o.scale()
	for i := range g {
		g[i] *= s
	}
	g[2] -= s * t / o.Head.R
	return g
}

// length scales a distance in px with its gradient to mm.
func (o Outlines) length(t float64, g [6]float64) Length {
	g = o.scaled(t, g)
	cov := joint(o.Head.Cov, o.Cup.Cov)
	return Length{o.scale() * t, deviation(g, cov[:])}
}
