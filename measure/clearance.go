package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
)

// WearVolumeClearance returns the volume, mm³, that a head of diameter headMM
// removes from a hemispherical liner of inner diameter linerMM, with d mm
// counted from where the head first touches the liner and angle as in
// WearVolume. With no clearance it is WearVolume, to rounding, by another
// route: over the angle s to the direction of movement,
//
//	V = ∫ (ρ³ - R³)/3 m sin s ds
//
// where R is the liner's radius, ρ >= R the distance from its centre to the
// surface that the moving head leaves, and m the part of the circle about the
// direction that lies below the rim, radians. Clearances of new hips are some
// 0.1 to 0.5 mm in diameter (from memory). The error is a *RangeError.
func WearVolumeClearance(headMM, linerMM, d, angle float64) (float64, error) {
	if err := checkVolume(headMM, d, angle); err != nil {
		return 0, err
	}
	if !(linerMM >= headMM) || !Finite(linerMM) {
		return 0, &RangeError{"liner diameter", linerMM, "mm", "must not be less than the head's"}
	}
	if d == 0 {
		return 0, nil
	}
	r, liner := headMM/2, linerMM/2
	long := liner - r + d
	sin, cos := sincos(angle)
	f := func(psi float64) float64 {
		s, c := math.Sincos(psi)
		var rho float64
		if r*c < long*s {
			rho = r / s // through the side of the swept cylinder
		} else {
			rho = long*c + math.Sqrt((r-long*s)*(r+long*s)) // through the head at its last place
		}
		if rho <= liner {
			return 0
		}
		below := 2 * math.Pi
		if c*sin < s*cos {
			below -= 2 * math.Acos(c*sin/(s*cos))
		}
		// ρ³ - R³ without the loss of a small difference.
		return (rho - liner) * (rho*rho + rho*liner + liner*liner) / 3 * below * s
	}
	// Where the integrand bends: at the rim, where the surface changes, and where
	// the liner ends to be touched.
	cuts := []float64{
		0, angle * math.Pi / 180, math.Atan2(r, long), math.Asin(r / liner),
		math.Acos(max(-1, min(1, (long*long+liner*liner-r*r)/(2*long*liner)))), math.Pi / 2,
	}
	slices.Sort(cuts)
	var v float64
	for i := 1; i < len(cuts) && cuts[i] <= math.Pi/2; i++ {
		mid, half := (cuts[i]+cuts[i-1])/2, (cuts[i]-cuts[i-1])/2
		// The sine makes roots at both ends smooth.
		v += quad.Fixed(func(u float64) float64 {
			su, cu := math.Sincos(u)
			return f(mid+half*su) * half * cu
		}, -math.Pi/2, math.Pi/2, 48, quad.Legendre{}, 0)
	}
	return v, nil
}
