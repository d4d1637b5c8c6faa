package measure

import (
	"math"
)

// Vector is a displacement in the frame of the hip, in mm at the level of the
// hip: superior and medial positive for both sides.
type Vector struct {
	Superior, Medial float64
	Cov              [2][2]float64 // covariance of (Superior, Medial), mm²
	// Shared is the part of Cov that is the same on every film of one hip, mm².
	Shared [2][2]float64
}

// Reading is what one film says about one hip.
type Reading struct {
	Scale, SEScale               float64 // mm per pixel at the hip, from the head's diameter
	Offset                       Vector  // head centre minus cup centre
	Eccentricity, SEEccentricity float64 // |offset| / (cup radius - head radius)
	Thinnest, SEThinnest         float64 // cup radius - head radius - |offset|, mm
}

// Read turns two fitted outlines into a reading. headMM is the head's nominal
// diameter; the scale is headMM over the fitted head's diameter. alpha is the
// angle of the reference line to the image rows in degrees, from +x towards +y
// (0 where none is drawn).
//
// With d the vector between the centres and r, R the radii, all in pixels,
// eccentricity is |d| / (R - r), the eccentricity ratio of a journal bearing,
// and the thinnest path is the scale times R - r - |d|. Standard errors are
// propagated to first order from both covariances, the scale's included; the
// two fits are taken as independent.
func Read(head, cup CircleFit, headMM float64, side Side, alpha float64) (Reading, error) {
	if err := checkOutlines(head, cup, headMM, side, alpha); err != nil {
		return Reading{}, err
	}
	s := headMM / (2 * head.R)
	sin, cos := math.Sincos(alpha * math.Pi / 180)
	dx, dy := head.X-cup.X, head.Y-cup.Y
	gap := cup.R - head.R
	medial := side.Medial()

	// Gradients in head X, Y, R, then cup X, Y, R.
	sup := [6]float64{s * sin, -s * cos, 0, -s * sin, s * cos, 0}
	med := [6]float64{medial * s * cos, medial * s * sin, 0, -medial * s * cos, -medial * s * sin, 0}
	r := Reading{Scale: s}
	r.Offset.Superior = s * (dx*sin - dy*cos)
	r.Offset.Medial = medial * s * (dx*cos + dy*sin)
	sup[2], med[2] = -r.Offset.Superior/head.R, -r.Offset.Medial/head.R

	cov, shared := joint(head.Cov, cup.Cov), joint(head.Shared, cup.Shared)
	r.SEScale = s / head.R * math.Sqrt(head.Cov[2][2])
	for i, a := range [2][6]float64{sup, med} {
		for j, b := range [2][6]float64{sup, med} {
			r.Offset.Cov[i][j], r.Offset.Shared[i][j] = Product(a, cov[:], b), Product(a, shared[:], b)
		}
	}
	// The length of d in pixels, and its direction: where d is zero, the
	// direction in which it is known least.
	length := math.Hypot(dx, dy)
	ux, uy := widest([2][2]float64{
		{cov[0][0] + cov[3][3], cov[0][1] + cov[3][4]},
		{cov[1][0] + cov[4][3], cov[1][1] + cov[4][4]},
	})
	if length > 0 {
		ux, uy = dx/length, dy/length
	}
	r.Eccentricity = length / gap
	q := r.Eccentricity / gap
	ecc := [6]float64{ux / gap, uy / gap, q, -ux / gap, -uy / gap, -q}
	r.SEEccentricity = deviation(ecc, cov[:])
	r.Thinnest = s * (gap - length)
	thin := thinnestBy(s, r.Thinnest, head.R, ux, uy)
	r.SEThinnest = deviation(thin, cov[:])
	return r, nil
}

// OnFilm returns what a displacement is on a film read as Read reads it, px: scale is mm
// per pixel, alpha the angle of the reference line to the rows in degrees.
func (v Vector) OnFilm(scale float64, side Side, alpha float64) (dx, dy float64) {
	sin, cos := math.Sincos(alpha * math.Pi / 180)
	across := side.Medial() * v.Medial
	return (v.Superior*sin + across*cos) / scale, (across*sin - v.Superior*cos) / scale
}

// thinnestBy returns the gradient of the thinnest path in head X, Y, R, then cup
// X, Y, R, with u the unit vector from the cup's centre to the head's.
func thinnestBy(scale, thinnest, headR, ux, uy float64) [6]float64 {
	return [6]float64{-scale * ux, -scale * uy, -scale - thinnest/headR, scale * ux, scale * uy, scale}
}

func checkOutlines(head, cup CircleFit, headMM float64, side Side, alpha float64) error {
	switch {
	case !Finite(head.X, head.Y, head.R, cup.X, cup.Y, cup.R, alpha):
		return Fault("shape.outline-not-finite", nil)
	case !(headMM > 0) || math.IsInf(headMM, 0):
		return Fault("shape.head-diameter", Values{"MM": headMM})
	case side.Medial() == 0:
		return ErrNoSide
	case !(head.R > 0):
		return Fault("shape.head-radius", Values{"Px": head.R})
	case !(cup.R > head.R):
		return Fault("shape.small-cup", Values{"Cup": cup.R, "Head": head.R})
	}
	for i := range head.Cov {
		for j := range head.Cov[i] {
			if !Finite(head.Cov[i][j], cup.Cov[i][j]) {
				return Fault("shape.covariance-not-finite", nil)
			}
		}
	}
	return nil
}

// joint returns the covariance of two independent fits.
func joint(a, b [3][3]float64) (cov [6][6]float64) {
	for i := range a {
		for j := range a[i] {
			cov[i][j] = a[i][j]
			cov[i+3][j+3] = b[i][j]
		}
	}
	return cov
}

// gradient holds the derivatives of a value.
type gradient interface {
	~[2]float64 | ~[3]float64 | ~[4]float64 | ~[5]float64 | ~[6]float64
}

// Product returns a' cov b: the covariance of two values with gradients a and b.
func Product[R gradient](a R, cov []R, b R) (sum float64) {
	for i := range cov {
		for j := range cov {
			sum += a[i] * cov[i][j] * b[j]
		}
	}
	return sum
}

// AddSquares adds v d d' to a covariance.
func AddSquares[R gradient](cov []R, v float64, d R) {
	for i := range cov {
		for j := range cov {
			cov[i][j] += v * d[i] * d[j]
		}
	}
}

// deviation returns the standard deviation of a value with the gradient a.
func deviation[R gradient](a R, cov []R) float64 {
	return math.Sqrt(max(0, Product(a, cov, a)))
}

// widest returns the unit vector along which a covariance is largest.
func widest(c [2][2]float64) (x, y float64) {
	t := math.Atan2(2*c[0][1], c[0][0]-c[1][1]) / 2
	y, x = math.Sincos(t)
	return x, y
}

// Sub returns the penetration v - base between two films of one hip. Their
// covariances are added, less what the films share.
func (v Vector) Sub(base Vector) Vector {
	d := Vector{Superior: v.Superior - base.Superior, Medial: v.Medial - base.Medial}
	for i := range d.Cov {
		for j := range d.Cov[i] {
			d.Cov[i][j] = v.Cov[i][j] - v.Shared[i][j] + base.Cov[i][j] - base.Shared[i][j]
		}
	}
	return d
}

// SE returns the standard errors of the components, mm.
func (v Vector) SE() (superior, medial float64) {
	return math.Sqrt(v.Cov[0][0]), math.Sqrt(v.Cov[1][1])
}

// Own returns the standard errors of the components without what all films of the hip
// share, mm: what is left of them in a movement between films.
func (v Vector) Own() (superior, medial float64) {
	return math.Sqrt(max(v.Cov[0][0]-v.Shared[0][0], 0)), math.Sqrt(max(v.Cov[1][1]-v.Shared[1][1], 0))
}

// Magnitude returns the length of v and its standard error along v, mm. The
// length is biased upwards where it is not large against its standard error;
// rates come from the components. A zero v has the standard error of the
// direction in which it is known least.
func (v Vector) Magnitude() (length, se float64) {
	length = math.Hypot(v.Superior, v.Medial)
	us, um := widest(v.Cov)
	if length > 0 {
		us, um = v.Superior/length, v.Medial/length
	}
	return length, deviation([2]float64{us, um}, v.Cov[:])
}

// Direction returns the angle of v from superior, medial positive, degrees in (-180, 180].
func (v Vector) Direction() float64 {
	d := math.Atan2(v.Medial, v.Superior) * 180 / math.Pi
	if d == -180 {
		return 180
	}
	return d
}
