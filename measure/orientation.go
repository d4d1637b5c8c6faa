package measure

import "math"

// The orientation of a cup's axis after Murray (1993), degrees. The axis points
// out of the cup. With x lateral, y anterior and z caudal it is
//
//	(sin RI cos RV, sin RV, cos RI cos RV)   radiographic
//	(sin OI, cos OI sin OV, cos OI cos OV)   operative
//	(sin AI cos AV, sin AI sin AV, cos AI)   anatomical
//
// Conversions hold for inclinations in [0, 90) and versions in (-90, 90), and
// are exact there. The anatomical version of an inclination of zero is not
// defined and reported as zero.
type (
	// Radiographic is the orientation as an AP film shows it: inclination is
	// that of the axis projected on the coronal plane to the long axis of the
	// body, anteversion the angle of the axis to the coronal plane.
	Radiographic struct{ Inclination, Anteversion float64 }

	// Operative is the orientation as the surgeon sees it: inclination is the
	// angle of the axis to the sagittal plane, anteversion that of the axis
	// projected on the sagittal plane to the long axis of the body.
	Operative struct{ Inclination, Anteversion float64 }

	// Anatomical is the orientation as a dry bone shows it: inclination is the
	// angle of the axis to the long axis of the body, anteversion that of the
	// axis projected on the transverse plane to the transverse axis.
	Anatomical struct{ Inclination, Anteversion float64 }
)

// Operative converts by sin OI = sin RI cos RV and tan OV = tan RV / cos RI.
func (r Radiographic) Operative() Operative {
	si, ci := sincos(r.Inclination)
	sv, cv := sincos(r.Anteversion)
	return Operative{asin(si * cv), atan2(sv, ci*cv)}
}

// Anatomical converts by cos AI = cos RI cos RV and tan AV = tan RV / sin RI.
func (r Radiographic) Anatomical() Anatomical {
	si, ci := sincos(r.Inclination)
	sv, cv := sincos(r.Anteversion)
	return Anatomical{acos(ci*cv, math.Hypot(si*cv, sv)), atan2(sv, si*cv)}
}

// RimReading is what the ellipse of a cup's rim or marker ring says about the
// cup's orientation. One AP film cannot tell anteversion from retroversion:
// Anteversion is the size of the version, never negative.
type RimReading struct {
	Radiographic
	SEInclination, SEAnteversion float64 // degrees; 0 where the fit has no covariance
}

// ReadRim returns the radiographic orientation of the rim whose ellipse is e:
// inclination is the slope of the long axis to the reference line, 0 to 180
// degrees, and the size of anteversion arcsin(B/A) (Liaw et al. 2006). Both are
// exact for a parallel beam only: 100 mm beside the central ray, 1 m from the
// source, a version of 15 degrees reads 11.3. alpha is the angle of the reference
// line to the image rows, degrees. Near zero version the standard error of B
// alone counts, 0.22 degrees for 0.1 mm with a long semi-axis of 26 mm.
func ReadRim(e EllipseFit, side Side, alpha float64) (RimReading, error) {
	switch {
	case side.Medial() == 0:
		return RimReading{}, ErrNoSide
	case !Finite(e.X, e.Y, e.A, e.B, e.Angle, alpha):
		return RimReading{}, ErrNotFinite
	case !(e.B >= 0 && e.B <= e.A && e.A > 0):
		return RimReading{}, &RangeError{"short semi-axis", e.B, "px", "must lie between 0 and the long one"}
	}
	var r RimReading
	r.Inclination = math.Mod(math.Mod(side.Medial()*(e.Angle-alpha), 180)+180, 180)
	r.Anteversion = asin(e.B / e.A)
	// sin V = B/A. At B = A the size of the error has no first order.
	q := e.B / e.A
	variance := e.Cov[3][3] - 2*q*e.Cov[2][3] + q*q*e.Cov[2][2]
	if cos := math.Sqrt((1 - q) * (1 + q)); cos > 0 {
		r.SEAnteversion = math.Sqrt(max(0, variance)) / (e.A * cos) * 180 / math.Pi
	}
	r.SEInclination = math.Sqrt(max(0, e.Cov[4][4])) * 180 / math.Pi
	return r, nil
}

// RimAngle returns the angle of a movement seen on an AP film to the plane of
// the rim, degrees, positive into the dome, with its standard error: 90 is
// straight into the dome, along the cup's axis. A movement of zero has none and
// is ErrNoDirection.
func (o RimReading) RimAngle(p Vector) (angle, se float64, err error) {
	if p.Superior == 0 && p.Medial == 0 {
		return 0, 0, ErrNoDirection
	}
	if !Finite(p.Superior, p.Medial, o.Inclination, o.Anteversion) {
		return 0, 0, ErrNotFinite
	}
	angle, g := o.rimAngle(p)
	return angle, math.Sqrt(o.variance(g, p)) * 180 / math.Pi, nil
}

// rimAngle returns the angle, degrees, and its gradient, radians, in superior,
// medial, inclination and anteversion.
func (o RimReading) rimAngle(p Vector) (angle float64, g [4]float64) {
	d := math.Hypot(p.Superior, p.Medial)
	s, m := p.Superior/d, p.Medial/d
	si, ci := sincos(o.Inclination)
	sv, cv := sincos(o.Anteversion)
	toward := s*ci + m*si // along the dome's direction on the film
	across := m*ci - s*si
	sin := cv * toward
	// |cos b|, without the loss of 1 - sin².
	cos := math.Hypot(across, sv*toward)
	angle = math.Atan2(sin, cos) * 180 / math.Pi
	if cos == 0 {
		return angle, g // at the top of the sine
	}
	g[0] = cv * (ci - s*toward) / d / cos
	g[1] = cv * (si - m*toward) / d / cos
	g[2] = cv * across / cos
	g[3] = -sv * toward / cos
	return angle, g
}

// variance propagates a gradient in superior, medial, inclination and
// anteversion (radians).
func (o RimReading) variance(g [4]float64, p Vector) float64 {
	v := Product([2]float64{g[0], g[1]}, p.Cov[:], [2]float64{g[0], g[1]})
	i, a := g[2]*o.SEInclination*math.Pi/180, g[3]*o.SEAnteversion*math.Pi/180
	return max(0, v+i*i+a*a)
}

func sincos(deg float64) (sin, cos float64) { return math.Sincos(deg * math.Pi / 180) }

func asin(x float64) float64 { return math.Asin(max(-1, min(1, x))) * 180 / math.Pi }

func atan2(y, x float64) float64 { return math.Atan2(y, x) * 180 / math.Pi }

// acos returns the angle of a cosine, with its sine to keep small angles exact.
func acos(cos, sin float64) float64 { return math.Atan2(sin, cos) * 180 / math.Pi }
