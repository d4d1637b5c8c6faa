package session

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// The 95 % points of chi-square with as many degrees of freedom as a circle and a
// ring have numbers (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4).
const (
	circleOdds = 7.815  // of 3
	ringOdds   = 11.070 // of 5
)

// drawnOnly reports whether a hand has placed the outline and none of it was ever
// fitted to an edge.
func (t Trace) drawnOnly() bool { return t.Hand && !t.Rough && len(t.Fit.Points) == 0 }

// beside looks for the edge that the film shows near an outline of d that only a hand
// has placed, and returns d with what it found. Where the film's pixels are not at
// hand nothing is said of its edges.
func (s *Session) beside(f *Film, d Draft, part measure.Part) Draft {
	t := d.Trace(part)
	t.Near = nil
	if t.drawnOnly() && f.pixels != nil {
		t.Near = &measure.Outline{}
		if o, err := s.finder(f)(d, part); err == nil {
			t.Near = &measure.Outline{
				CircleFit: measure.CircleFit{Circle: o.Circle, Cov: o.Cov, Shared: o.Shared}, Ring: o.Ring, RingCov: o.RingCov,
			}
		}
	}
	return d.with(part, t)
}

// seen reports whether an edge of the film lies near the outline, of a ring a ring's.
func (t Trace) seen() bool {
	return t.Near != nil && t.Near.R > 0 && (t.Near.Ring.A > 0 || !(t.ring().A > 0))
}

// bare reports whether an edge was looked for near the outline and none was found.
func (t Trace) bare() bool { return t.Near != nil && !t.seen() }

// fromCircle returns the step from one circle to another, px.
func fromCircle(a, b measure.Circle) [3]float64 {
	return [3]float64{b.X - a.X, b.Y - a.Y, b.R - a.R}
}

// fromRing returns the step from one ring to another, px and radians.
func fromRing(a, b measure.Ellipse) [5]float64 {
	turn := math.Remainder(b.Angle-a.Angle, 180) * math.Pi / 180
	return [5]float64{b.X - a.X, b.Y - a.Y, b.A - a.A, b.B - a.B, turn}
}

// beyond returns how much of the step d from the film's own edge the error of an
// outline has to hold besides its own covariance: nothing while cov, that of both,
// explains the step in 19 cases of 20 (below odds), and nearly all of it far beyond.
func beyond[R [3]float64 | [5]float64](cov []R, d R, odds float64) float64 {
	x, ok := fit.Solve(cov, d)
	m := 0.0
	for i := 0; i < len(cov); i++ {
		m += x[i] * d[i]
	}
	if !ok || !(m >= 0) {
		return 1
	}
	return max(0, 1-odds/m)
}

// grown returns how much larger the outline is drawn than what is known of it, one
// where it is not: on a head drawn too large a pixel is taken for too few mm.
func (t Trace) grown() float64 {
	switch {
	case t.seen():
		return max(1, t.At.R/t.Near.R)
	case t.Fit.R > 0:
		return max(1, t.At.R/t.Fit.R)
	}
	return 1
}
