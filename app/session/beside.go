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
func (e *Edits) beside(f *Film, d Draft, part measure.Part) Draft {
	t := d.Trace(part)
	t.Near = nil
	if t.drawnOnly() && f.pixels != nil {
		t.Near = &measure.Outline{}
		if o, err := e.finder(f)(d, part); err == nil {
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

// numbers are those of a circle or of a ring.
type numbers interface{ [3]float64 | [5]float64 }

// evidence is what speaks against a hand that has placed an outline.
type evidence[R numbers] struct {
	known bool    // a fit or clicks told the outline before the hand moved it
	fit   []R     // their covariance
	moved R       // the step from there
	share float64 // of a hand's own error that the step shows
	seen  bool    // an edge of the film lies near
	near  []R     // its covariance
	off   R       // the step from there
}

// weigh turns the covariance of what hand placing does into what it adds to that of
// the fit. Of the step from the film's edge it holds what the errors of hand, fit and
// edge do not explain: nothing in 19 cases of 20, below odds, and nearly all of it far
// beyond.
func (e evidence[R]) weigh(cov []R, odds float64) {
	n := len(cov)
	if e.known {
		for i := range n {
			for j := range n {
				cov[i][j] *= e.share
			}
		}
		if !e.seen {
			measure.AddSquares(cov, 1, e.moved)
		}
	}
	if !e.seen {
		return
	}
	all := make([]R, n)
	for i := range n {
		for j := range n {
			all[i][j] = cov[i][j] + e.fit[i][j] + e.near[i][j]
		}
	}
	k := 1.0
	if x, ok := fit.Solve(all, e.off); ok {
		m := 0.0
		for i := range n {
			m += x[i] * e.off[i]
		}
		switch {
		case m <= odds:
			k = 0
		case m > odds:
			k = 1 - odds/m
		}
	}
	measure.AddSquares(cov, k, e.off)
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
