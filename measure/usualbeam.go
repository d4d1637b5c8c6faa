package measure

import "math"

// The magnification of an AP film of the hip outside which head or spacing is doubted, and
// what it is about where nothing tells it (common practice, no source).
const (
	LeastMagnification    = 1.05
	MostMagnification     = 1.35
	MiddlingMagnification = 1.2
)

// MiddlingPixel is a pixel at the hip where nothing tells it, mm (common practice, no source).
const MiddlingPixel = 0.13

// What is usual of a pelvis film whose beam nobody has stated: the source 1000 to
// 1200 mm before the detector, the hip 100 to 200 mm before it, the central ray on
// the midline near the height of the hips, which lie some 90 mm to its sides. Common
// practice, no source; taken as even spreads and in part the same on all films of a
// hip, which are of one body and mostly of one room.
const (
	usualSource = 1150.0 // mm from source to detector
	usualHip    = 970.0  // mm from source to hip
	usualAside  = 90.0   // mm from the central ray to the hip

	usualHipSD, usualHipShared     = 65.0, 0.4
	usualAsideSD, usualAsideShared = 30.0, 0.9
)

// Cups are anteverted by 15 degrees, give or take 10 (Lewinnek GE et al. J Bone Joint
// Surg Am 1978;60:217-220, the range aimed at, from memory; here a normal law).
const usualVersion, usualVersionSD = 15.0, 10.0

// turnSD is how far a pelvis is turned from one film of a patient to the next,
// degrees; common practice, no source.
const turnSD = 3.0

// usualBeam returns a beam as usual for a film on which a hip has that head.
func (h Hip) usualBeam(headMM float64) Beam {
	mm := headMM / (2 * h.Head.R)
	return Beam{
		SourceImage: usualSource, Spacing: mm * usualSource / usualHip,
		Center: Point{h.Head.X + usualAside/mm*h.Side.Medial(), h.Head.Y},
	}
}

// unusualBeams are b with the source, and the central ray along either axis, off by a
// standard deviation; usualShared is what all films of a hip have of their variance.
func (h Hip) unusualBeams(b Beam, headMM float64) [3]Beam {
	near, aside, below := b, b, b
	near.Spacing *= usualHip / (usualHip - usualHipSD)
	mm := headMM / (2 * h.Head.R)
	aside.Center.X += usualAsideSD / mm
	below.Center.Y += usualAsideSD / mm
	return [3]Beam{near, aside, below}
}

var usualShared = [3]float64{usualHipShared, usualAsideShared, usualAsideShared}

// Orientation returns how the circle of a cup's rim or marker ring lies whose ellipse on
// the film is e, where the beam is not known: the more anteverted of the two that cast it
// from a usual beam. A parallel beam would read an anteversion of 15 degrees as 10 to 12;
// the standard errors, degrees, hold that the beam may be another. headMM and alpha are
// those of Read; the errors are those of Beam.Rim.
func (h Hip) Orientation(e EllipseFit, headMM, alpha float64) (r RimReading, err error) {
	if !(h.Head.R > 0 && headMM > 0) {
		return r, &RangeError{"head", h.Head.R, "px", "must be positive"}
	}
	b := h.usualBeam(headMM)
	one, _, err := b.Rim(e, h.Side, alpha)
	if err != nil {
		return r, err
	}
	r = one.Reading()
	for _, v := range h.unusualBeams(b, headMM) {
		moved, _, err := v.Rim(e, h.Side, alpha)
		if err != nil {
			return r, err
		}
		r.SEInclination = math.Hypot(r.SEInclination, moved.Inclination-r.Inclination)
		r.SEAnteversion = math.Hypot(r.SEAnteversion, math.Abs(moved.Anteversion)-r.Anteversion)
	}
	return r, nil
}

// CupCircle returns the circle of the cup that Read takes where the beam of a film is
// not known: the outline of a shell, and of a marker ring the circle about its own
// centre, which is not that of its ellipse, since the half nearer to the source casts
// the larger shadow: of a ring of radius a at the distance z from the source they lie
// a² q sqrt(1-q²)/z apart, with q the short over the long axis, where the ring is near
// the central ray; that is 0.1 to 0.25 mm. It is put where Beam.Rim puts it for a usual
// beam. headMM and alpha are those of Read.
//
// Which half is the nearer one film cannot tell. The two circles that cast the ellipse
// are weighed by how cups are anteverted; the standard errors hold both, and that the
// beam may be another. Shared has what the films of a hip have in common of that.
func (h Hip) CupCircle(headMM, alpha float64) (cup CircleFit, err error) {
	if err := checkOutlines(h.Head.CircleFit, h.Cup.CircleFit, headMM, h.Side, alpha); err != nil {
		return cup, err
	}
	cup = h.Cup.CircleFit
	if h.Cup.Ring.A == 0 {
		return cup, nil
	}
	ring, b := h.Cup.open(), h.usualBeam(headMM)
	at, one, other, p, err := b.likelier(ring, h.Side, alpha)
	if err != nil {
		return cup, err
	}
	cup = cup.as(one, ring)
	cup.Circle = at
	for i, v := range h.unusualBeams(b, headMM) {
		moved, _, _, _, err := v.likelier(ring, h.Side, alpha)
		if err != nil {
			return cup, err
		}
		cup.doubt(Point{moved.X - at.X, moved.Y - at.Y}, 1, usualShared[i])
	}
	// If it is the other, the error changes with the version from film to film. What
	// changes is counted twice, since an error that is mostly none and rarely large
	// strays further than a normal one of its variance.
	version := math.Abs(one.Anteversion-other.Anteversion) / 2
	own := min(1, turnSD*turnSD/(version*version+turnSD*turnSD/2))
	cup.doubt(Point{one.Rim.X - other.Rim.X, one.Rim.Y - other.Rim.Y}, p*(1-p), 1-own)
	return cup, nil
}

// likelier returns the mean of the two circles that cast a ring's ellipse, both, and
// how likely the first is.
func (b Beam) likelier(e EllipseFit, side Side, alpha float64) (mean Circle, one, other RimPose, p float64, err error) {
	if one, other, err = b.Rim(e, side, alpha); err != nil {
		return mean, one, other, 0, err
	}
	u, v := (one.Anteversion-usualVersion)/usualVersionSD, (other.Anteversion-usualVersion)/usualVersionSD
	p = 1 / (1 + math.Exp((u*u-v*v)/2))
	mix := func(a, b float64) float64 { return p*a + (1-p)*b }
	return Circle{mix(one.Rim.X, other.Rim.X), mix(one.Rim.Y, other.Rim.Y), mix(one.Rim.R, other.Rim.R)}, one, other, p, nil
}

// doubt adds to the covariance of a fit's centre that of a move by d with a variance,
// of which all films of a hip have a share.
func (f *CircleFit) doubt(d Point, variance, shared float64) {
	by := [3]float64{d.X, d.Y}
	AddSquares(f.Cov[:], variance, by)
	AddSquares(f.Shared[:], shared*variance, by)
}
