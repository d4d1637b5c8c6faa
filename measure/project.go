package measure

import (
	"cmp"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Beam is the cone beam of one film: a point source in front of a flat film on
// which the central ray stands upright.
type Beam struct {
	SourceImage float64 // source to film, mm (DICOM 0018,1110)
	Center      Point   // where the central ray meets the film, px
	Spacing     float64 // mm per pixel at the film
}

// check refuses a beam that cannot be.
func (b Beam) check() error {
	if !Finite(b.Center.X, b.Center.Y) {
		return ErrNotFinite
	}
	return cmp.Or(Positive("distance from source to film", b.SourceImage, "mm"), Positive("pixel spacing", b.Spacing, "mm"))
}

// Shadow returns the outline that a sphere casts. c holds the projection of the
// sphere's centre and, as R, the sphere's radius times the magnification of the
// plane through its centre parallel to the film: R = r F / (z spacing), with z
// the depth of the centre and F the distance of the film from the source.
//
// With f the distance of the film in pixels, θ the angle of the centre's ray to
// the central ray and sin α = R cos θ / f, the shadow is an ellipse along the
// line to the central ray, its centre f sin 2θ / k from it, with semi-axes
// f sin 2α / k and f sin α sqrt(2/k), where k = cos 2θ + cos 2α. (Elementary:
// the cone of rays that touch the sphere has the half angle α.)
func (b Beam) Shadow(c Circle) (Ellipse, error) {
	if err := b.check(); err != nil {
		return Ellipse{}, err
	}
	if !Finite(c.X, c.Y) {
		return Ellipse{}, ErrNotFinite
	}
	if err := Positive("radius", c.R, "px"); err != nil {
		return Ellipse{}, err
	}
	f := b.SourceImage / b.Spacing
	dx, dy := c.X-b.Center.X, c.Y-b.Center.Y
	off := math.Hypot(dx, dy)
	theta := math.Atan2(off, f)
	sin := c.R * math.Cos(theta) / f
	alpha := math.Asin(min(1, sin))
	if !(theta+alpha < math.Pi/2) {
		return Ellipse{}, &RangeError{"radius", c.R, "px", "is too large for the distance from source to film"}
	}
	k := math.Cos(2*theta) + math.Cos(2*alpha)
	e := Ellipse{
		X: c.X, Y: c.Y,
		A: f * math.Sin(2*alpha) / k, B: f * sin * math.Sqrt(2/k),
	}
	e.A = max(e.A, e.B) // equal on the central ray, but for rounding
	if off > 0 {
		at := f * math.Sin(2*theta) / k
		e.X, e.Y = b.Center.X+dx*at/off, b.Center.Y+dy*at/off
		e.Angle = halfTurn(atan2(dy, dx))
	}
	return e, nil
}

// CorrectFit returns the sphere, in the terms of Shadow, whose shadow has the circle
// fitted as that nearest to it where the fit's points lie; a fit without points counts
// as one of the whole outline. A circle through half of a shadow, such as that of a
// shell's dome, has another centre than one through all of it. The corrected centres
// of spheres about one point coincide, and D / (2R) of a sphere with diameter D is mm
// per pixel in its plane wherever it lies on the film.
//
// It is sought on the rays to the points: that from which no step leads nearer. Each
// round leaves about a hundredth of the error.
//
// The covariance stays, since the correction is known far better than the outline;
// Points and Residuals stay those on the film.
func (b Beam) CorrectFit(f CircleFit) (CircleFit, error) {
	points := f.Points
	if len(points) == 0 {
		for i := range 90 {
			sin, cos := sincos(4 * float64(i))
			points = append(points, Point{f.X + f.R*cos, f.Y + f.R*sin})
		}
	}
	feet := make([]Point, len(points))
	c := f.Circle
	for range 12 {
		e, err := b.Shadow(f.Circle)
		if err != nil {
			return f, err
		}
		for i, p := range points {
			feet[i] = e.towards(p)
		}
		if _, err := c.Arc(feet); err != nil {
			return f, err
		}
		step, err := c.towards(feet)
		if err != nil {
			return f, err
		}
		f.Circle = Circle{f.X - step.X, f.Y - step.Y, f.R - step.R}
		if math.Abs(step.X)+math.Abs(step.Y)+math.Abs(step.R) < 1e-9*c.R {
			break
		}
	}
	_, err := b.Shadow(f.Circle)
	return f, err
}

// towards returns the Gauss-Newton step of X, Y and R from c towards the circle
// with the least sum of squared distances to the points.
func (c Circle) towards(points []Point) (Circle, error) {
	a, g := mat.NewDense(len(points), 3, nil), mat.NewVecDense(len(points), nil)
	for i, p := range points {
		sin, cos := math.Sincos(math.Atan2(p.Y-c.Y, p.X-c.X))
		a.SetRow(i, []float64{cos, sin, 1})
		g.SetVec(i, c.Distance(p))
	}
	var x mat.VecDense
	if x.SolveVec(a, g) != nil {
		return Circle{}, ErrNotFinite
	}
	return Circle{x.AtVec(0), x.AtVec(1), x.AtVec(2)}, nil
}

// BeamReading is a reading corrected for the cone beam, with what that changed.
type BeamReading struct {
	Reading
	Head, Cup CircleFit // the corrected outlines
	Moved     Vector    // corrected offset minus uncorrected offset, mm, no covariance
	OffAxis   float64   // from the central ray to the head's centre, mm on the film
	SourceHip float64   // source to the plane of the hip, from the head's diameter, mm
}

// ReadHip is the package's Read on the outlines of a hip, as find.Hips returns it,
// corrected for the cone beam. The centre of a marker ring is that of the more
// anteverted circle in space that casts the ellipse, by Rim. It lies up to 0.2 mm from
// the ellipse's centre, and its standard errors follow from the ellipse's; of a
// retroverted cup it is wrong by as much, the same on films taken alike.
func (b Beam) ReadHip(h Hip, headMM, alpha float64) (r BeamReading, err error) {
	plain, err := Read(h.Head.CircleFit, h.Cup.CircleFit, headMM, h.Side, alpha)
	if err != nil {
		return r, err
	}
	if h.Cup.Ring.A == 0 {
		r.Cup, err = b.CorrectFit(h.Cup.CircleFit)
	} else {
		ring := h.Cup.open()
		var pose RimPose
		pose, _, err = b.Rim(ring, h.Side, alpha)
		r.Cup = h.Cup.as(pose, ring)
	}
	if err != nil {
		return r, err
	}
	if r.Head, err = b.CorrectFit(h.Head.CircleFit); err != nil {
		return r, err
	}
	if r.Reading, err = Read(r.Head, r.Cup, headMM, h.Side, alpha); err != nil {
		return r, err
	}
	r.SourceHip = b.SourceImage * r.Scale / b.Spacing
	r.OffAxis = r.Head.Center().Distance(b.Center) * b.Spacing
	r.Moved = Vector{
		Superior: r.Offset.Superior - plain.Offset.Superior,
		Medial:   r.Offset.Medial - plain.Offset.Medial,
	}
	return r, nil
}

// open returns the ring; one seen edge-on, whose two circles in space are one, as
// an ellipse.
func (o Outline) open() EllipseFit {
	ring := o.RingFit()
	ring.B = max(ring.B, 1e-3*ring.A)
	return ring
}

// as returns f as the circle in space of a ring.
func (f CircleFit) as(pose RimPose, ring EllipseFit) CircleFit {
	f.Circle = pose.Rim
	if ring.Cov[0][0] > 0 {
		f.Cov = pose.Cov
	}
	return f
}

// BeamDoubt is how well a beam is known, as standard deviations.
type BeamDoubt struct {
	Center      float64 // of the central ray along each axis of the film, mm on the film
	SourceImage float64 // of the distance from source to film, mm
}

// ReadHipWithin is ReadHip with what the doubt about the beam adds to the
// standard errors: the readings with the central ray moved along either axis,
// and with the source moved, by one standard deviation, taken as independent
// from film to film. The doubt is small: 10 mm of the central ray change the
// offset of a shell and its head by some 0.005 mm.
func (b Beam) ReadHipWithin(h Hip, headMM, alpha float64, doubt BeamDoubt) (BeamReading, error) {
	for _, sd := range []float64{doubt.Center, doubt.SourceImage} {
		if !(sd >= 0) || !Finite(sd) {
			return BeamReading{}, &RangeError{"standard deviation", sd, "mm", "must not be negative"}
		}
	}
	r, err := b.ReadHip(h, headMM, alpha)
	if err != nil {
		return r, err
	}
	right, down, far := b, b, b
	right.Center.X += doubt.Center / b.Spacing
	down.Center.Y += doubt.Center / b.Spacing
	far.SourceImage += doubt.SourceImage
	plain := r.Reading
	for _, other := range []Beam{right, down, far} {
		if other == b {
			continue
		}
		moved, err := other.ReadHip(h, headMM, alpha)
		if err != nil {
			return r, err
		}
		r.Reading = r.widened(plain, moved.Reading)
	}
	return r, nil
}

// widened adds to r's standard errors the change from one reading to another,
// taken as one standard deviation.
func (r Reading) widened(from, to Reading) Reading {
	AddSquares(r.Offset.Cov[:], 1, [2]float64{to.Offset.Superior - from.Offset.Superior, to.Offset.Medial - from.Offset.Medial})
	r.SEScale = math.Hypot(r.SEScale, to.Scale-from.Scale)
	r.SEEccentricity = math.Hypot(r.SEEccentricity, to.Eccentricity-from.Eccentricity)
	r.SEThinnest = math.Hypot(r.SEThinnest, to.Thinnest-from.Thinnest)
	return r
}
