package measure

import "errors"

// Vector is a displacement in the frame of the hip, in mm at the level of the
// hip: superior and medial positive for both sides.
type Vector struct {
	Superior, Medial float64
	Cov              [2][2]float64 // covariance of (Superior, Medial), mm²
}

// Reading is what one film says about one hip.
type Reading struct {
	Scale, SEScale               float64 // mm per pixel at the hip, from the head's diameter
	Offset                       Vector  // head centre minus cup centre
	Eccentricity, SEEccentricity float64 // |offset| / (cup radius - head radius)
	Thinnest, SEThinnest         float64 // cup radius - head radius - |offset|, mm
}

// Read turns two fitted outlines into a reading. alpha is the angle of the
// reference line to the image rows in degrees (0 where none is drawn).
func Read(head, cup CircleFit, headMM float64, side Side, alpha float64) (Reading, error) {
	return Reading{}, errors.New("measure: Read is being written")
}

// Sub returns the penetration v - base, with the covariances added.
func (v Vector) Sub(base Vector) Vector { return Vector{} }

// SE returns the standard errors of the components, mm.
func (v Vector) SE() (superior, medial float64) { return 0, 0 }

// Magnitude returns the length of v and its standard error, mm.
func (v Vector) Magnitude() (length, se float64) { return 0, 0 }

// Direction returns the angle of v from superior, medial positive, degrees in (-180, 180].
func (v Vector) Direction() float64 { return 0 }
