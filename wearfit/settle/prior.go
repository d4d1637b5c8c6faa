package settle

import "math"

// shape is how much of bedding-in shows in the films for a time constant, on a
// scale of its logarithm. A density that is flat over bedding-in and its standard
// deviation is not flat over what the films show: where bedding-in lasts long, much
// of it looks like little, and such a density favours the long and the large. What
// is flat here is the curve at the films (Bates DM, Watts DG. Nonlinear Regression
// Analysis and Its Applications. Wiley 1988, chapter 6): the density over
// coefficients, SD of bedding-in and ln tau is the volume of the curves that a unit
// of them stands for.
type shape struct {
	lo, step float64
	log      []float64
}

const shapeSteps = 200

// newShape takes the sums of all films, each hip's around its mean, for every time
// constant.
func newShape(m *model) shape {
	s := shape{lo: m.lo, step: (m.hi - m.lo) / shapeSteps}
	var f sums
	for i := range shapeSteps + 1 {
		inv := math.Exp(-m.lo - float64(i)*s.step)
		var uu, ut, tt, uv, vt, vv float64
		for j := range m.hips {
			h := &m.hips[j]
			f.set(&hip{t: h.t, y: h.y}, 1)
			n := f.bend(inv)
			uu, ut, tt = uu+n.a[0], ut+n.a[1], tt+n.a[2]
			uv, vt, vv = uv+n.d[0], vt+n.d[1], vv+f.turn(inv)
		}
		// The bend beside a line, and its derivative beside both.
		bend := uu - ut*ut/tt
		across := uv - ut*vt/tt
		turn := vv - vt*vt/tt - across*across/bend
		const least = 1e-12
		s.log = append(s.log, math.Log(max(bend, least*tt))+math.Log(max(turn, least*tt))/2)
	}
	return s
}

// turn is the sum of squares of the bend's derivative by ln tau around its mean.
func (f *sums) turn(inv float64) float64 {
	var sum, square float64
	for _, p := range f.films {
		x := p.years * inv
		d := -x * math.Exp(-x)
		sum += p.g * d
		square += p.g * d * d
	}
	return square - sum*sum/f.weight
}

// at returns the logarithm and its derivative at the logarithm of a time constant.
func (s shape) at(logTau float64) (v, slope float64) {
	x := (logTau - s.lo) / s.step
	i := max(0, min(len(s.log)-2, int(x)))
	d := s.log[i+1] - s.log[i]
	return s.log[i] + (x-float64(i))*d, d / s.step
}
