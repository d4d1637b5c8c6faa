package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrCovariance is the error of a covariance by which films cannot be weighed.
var ErrCovariance = Fault("shape.covariance", nil)

// Lateral is a penetration seen on a cross-table lateral film, mm at the level
// of the hip. Along is the component along the film's long direction, which is
// superior where the beam runs straight across the table; with the beam angled
// by Obliquity degrees, towards the head positive, it is
// Superior cos(Obliquity) + Medial sin(Obliquity).
type Lateral struct {
	Along, Anterior float64
	Cov             [2][2]float64 // of (Along, Anterior), mm²
	Obliquity       float64       // degrees; Danelius and Miller's projection is near 45
}

// Vector3 is a displacement in space, mm: superior, medial and anterior
// positive for both sides.
type Vector3 struct {
	Superior, Medial, Anterior float64
	Cov                        [3][3]float64 // mm², in this order
}

// Spatial is a penetration in space from two films.
type Spatial struct {
	Vector3
	// Disagreement is what the two films differ by along the direction that both
	// show, lateral film less AP film, with the standard error expected of it. A
	// ratio beyond 2 says that the films do not fit together: turned, scaled
	// differently or angled otherwise than stated.
	Disagreement, SEDisagreement float64
}

// Slant is by how much the rays through a hip lean: the movement that a film shows,
// along superior and medial (or along and anterior), for each mm towards the source.
// It is zero on the central ray; 92 mm beside it at 1 m, where AP pelvis films have
// the hips, 0.09 laterally.
type Slant [2]float64

// Slant returns that of the rays that meet the film at p, for a film read with side
// and alpha.
func (b Beam) Slant(p Point, side Side, alpha float64) (Slant, error) {
	if err := b.check(); err != nil {
		return Slant{}, err
	}
	if side.Medial() == 0 {
		return Slant{}, ErrNoSide
	}
	if !Finite(p.X, p.Y, alpha) {
		return Slant{}, ErrNotFinite
	}
	k := b.Spacing / b.SourceImage
	x, y := k*(p.X-b.Center.X), k*(p.Y-b.Center.Y)
	sin, cos := sincos(alpha)
	return Slant{x*sin - y*cos, side.Medial() * (x*cos + y*sin)}, nil
}

// Combine returns the penetration in space that fits an AP film and a
// cross-table lateral film best: generalised least squares (Aitken 1935) of
// three components from four, the two films independent. Movement towards the
// source shows on a film by its slant, to first order; that source is anterior for
// the AP film and medial, caudal by the obliquity, for the lateral one. Both films
// need a baseline taken the same way. The errors are ErrNotFinite, ErrCovariance
// and, for an obliquity not below 90 degrees, *RangeError.
func Combine(ap Vector, lateral Lateral, apSlant, lateralSlant Slant) (Spatial, error) {
	if !Finite(ap.Superior, ap.Medial, lateral.Along, lateral.Anterior, apSlant[0], apSlant[1], lateralSlant[0], lateralSlant[1]) {
		return Spatial{}, ErrNotFinite
	}
	if err := within("obliquity of the beam", lateral.Obliquity, "deg", -80, 80); err != nil {
		return Spatial{}, err
	}
	sin, cos := sincos(lateral.Obliquity)
	design := mat.NewDense(4, 3, []float64{
		1, 0, apSlant[0],
		0, 1, apSlant[1],
		cos - lateralSlant[0]*sin, sin + lateralSlant[0]*cos, 0,
		-lateralSlant[1] * sin, lateralSlant[1] * cos, 1,
	})
	y := mat.NewVecDense(4, []float64{ap.Superior, ap.Medial, lateral.Along, lateral.Anterior})
	cov := mat.NewSymDense(4, nil)
	for i := range 2 {
		for j := i; j < 2; j++ {
			cov.SetSym(i, j, ap.Cov[i][j])
			cov.SetSym(i+2, j+2, lateral.Cov[i][j])
		}
	}
	var chol mat.Cholesky
	if !Finite(cov.RawSymmetric().Data...) || !chol.Factorize(cov) || chol.Cond() > 1e12 {
		return Spatial{}, ErrCovariance
	}
	var weighted, normal, inverse mat.Dense
	if chol.SolveTo(&weighted, design) != nil {
		return Spatial{}, ErrCovariance
	}
	normal.Mul(design.T(), &weighted)
	if inverse.Inverse(&normal) != nil {
		return Spatial{}, ErrCovariance
	}
	var rhs, x mat.VecDense
	rhs.MulVec(weighted.T(), y)
	x.MulVec(&inverse, &rhs)
	s := Spatial{Vector3: Vector3{Superior: x.AtVec(0), Medial: x.AtVec(1), Anterior: x.AtVec(2)}}
	for i := range s.Cov {
		for j := range s.Cov[i] {
			s.Cov[i][j] = inverse.At(i, j)
		}
	}
	superior, medial := ap.Superior-apSlant[0]*s.Anterior, ap.Medial-apSlant[1]*s.Anterior
	s.Disagreement = lateral.Along - design.At(2, 0)*superior - design.At(2, 1)*medial
	s.SEDisagreement = math.Hypot(math.Sqrt(lateral.Cov[0][0]), deviation([2]float64{cos, sin}, ap.Cov[:]))
	return s, nil
}

// Magnitude returns the length of v and its standard error along v, mm. As in
// the plane, the length is biased upwards where it is not large against its
// standard error. A zero v has that of the component that is known least.
func (v Vector3) Magnitude() (length, se float64) {
	u := [3]float64{v.Superior, v.Medial, v.Anterior}
	length = math.Hypot(math.Hypot(u[0], u[1]), u[2])
	if length == 0 {
		return 0, math.Sqrt(max(0, v.Cov[0][0], v.Cov[1][1], v.Cov[2][2]))
	}
	return length, deviation(u, v.Cov[:]) / length
}

// OutOfPlane returns the angle of v to the plane of the AP film, degrees,
// anterior positive. The AP film alone shows the length times its cosine.
func (v Vector3) OutOfPlane() float64 {
	return atan2(v.Anterior, math.Hypot(v.Superior, v.Medial))
}
