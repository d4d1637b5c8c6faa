package measure

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Volume is a wear volume with its standard error, mm³.
type Volume struct{ MM3, SE float64 }

// Volume returns the volume that a head removes from a hemispherical liner of its own
// radius by the penetration p seen on an AP film, in a straight line, with the cup at
// orientation o. headMM is the head's diameter. The standard error is propagated to
// first order from the covariance of p and the standard errors of o. Movement across
// the film's plane is not seen and taken as none. A penetration away from the dome is
// a *RangeError: the formula does not hold there.
//
// With r the head's radius, d the length of the movement and b its angle to the rim
// plane, the lower half of the head sweeps the cylinder V = pi r² d (1 + sin b) / 2
// (Hashimoto et al. 1995) and the half that starts above the rim adds a wedge, which
// is integrated numerically, to about 1e-12, over its height h above the rim plane:
//
//	W = ∫ (d - h/sin b) 2 (ρ cos b sin p - h p sin b) dh
//	ρ² = r² - h²,  cos p = h tan b / ρ,  h from 0 to min(d sin b, r cos b)
//
// (cylinder and wedge as in Ilchmann et al. 2008; the integral is derived
// here). A liner wider than the head loses less: a clearance of 0.1 mm in
// radius takes some 6 % off at d = 1 mm. All penetration counts as wear here,
// creep included.
func (o RimReading) Volume(p Vector, headMM float64) (Volume, error) {
	if err := Positive("head diameter", headMM, "mm"); err != nil {
		return Volume{}, err
	}
	d, se := p.Magnitude()
	if !Finite(d) {
		return Volume{}, ErrNotFinite
	}
	if d == 0 {
		// No direction: along the one that is known least, the standard error
		// of d gives that of the volume straight into the dome.
		return Volume{0, math.Pi / 4 * headMM * headMM * se}, nil
	}
	angle, g := o.rimAngle(p)
	if err := within("angle to the rim plane", angle, "deg", 0, 90); err != nil {
		return Volume{}, err
	}
	r, b := headMM/2, angle*math.Pi/180
	const step = 1e-5 // of differences, as a share of d and in radians
	vd := (sweep(r, d*(1+step), b) - sweep(r, d*(1-step), b)) / (2 * step * d)
	lower, upper := max(0, b-step), min(math.Pi/2, b+step)
	vb := (sweep(r, d, upper) - sweep(r, d, lower)) / (upper - lower)
	// Gradients in superior, medial, inclination and anteversion (radians).
	var volume [4]float64
	for i := range volume {
		volume[i] = vb * g[i]
	}
	volume[0] += vd * p.Superior / d
	volume[1] += vd * p.Medial / d
	return Volume{sweep(r, d, b), math.Sqrt(o.variance(volume, p))}, nil
}

// sweep returns the exact volume for b in radians. With u = h/sin b and
// u = r cot(b) sin(t) the integrand has no singularity: ρ sin p = r cos t.
func sweep(r, d, b float64) float64 {
	sin, cos := math.Sincos(b)
	cylinder := math.Pi / 2 * r * r * d * (1 + sin)
	if sin <= 0 || cos <= 0 {
		return cylinder
	}
	const nodes = 32      // for an error of about 1e-12
	long := r * cos / sin // where the wedge runs out
	return cylinder + quad.Fixed(func(t float64) float64 {
		st, ct := math.Sincos(t)
		u, across := long*st, r*ct
		h := u * sin
		area := 2 * (across*cos - h*sin*math.Atan2(across*cos, h*sin))
		return (d - u) * area * sin * long * ct
	}, 0, math.Asin(min(1, d/long)), nodes, quad.Legendre{}, 0)
}
