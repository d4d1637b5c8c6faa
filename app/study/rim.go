package study

import (
	"math"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// Rim is the line along the cup's opening on a film: the long axis of the ellipse
// that its rim projects to. The zero value is none.
type Rim struct {
	A, B measure.Point // its ends, px

	// Found is the ellipse of a metal shell's rim as the program found it on the
	// film, with the covariance of X, Y, A, B (px) and Angle (radians); zero for a line
	// that a reader drew, which tells no version.
	Found measure.Ellipse
	Cov   [5][5]float64
	Seen  float64 // share of the rim's near half that head and neck do not hide
	Why   Note    // why the program did not find the rim; empty where it did or did not look
}

// Drawn reports whether there is one, drawn by a reader or found on the film.
func (r Rim) Drawn() bool { return r.A != r.B }

// Proposed reports whether the program found it on the film.
func (r Rim) Proposed() bool { return r.Found.A > 0 }

// ProposeRim returns the rim that was found on a film for a hip.
func ProposeRim(h measure.Hip) Rim {
	if !(h.Rim.A > 0) {
		return Rim{Why: h.NoRim}
	}
	e := h.Rim.Ellipse
	return Rim{A: e.At(180), B: e.At(0), Found: e, Cov: h.Rim.Cov, Seen: h.Rim.Seen}
}

// fits reports whether a rim that was found is still that of a cup's outline.
func (r Rim) fits(cup measure.Circle) bool {
	return math.Abs(r.Found.A-cup.R) < 0.08*cup.R && math.Hypot(r.Found.X-cup.X, r.Found.Y-cup.Y) < 0.2*cup.R
}

// DrawRim returns the rim line through two points of a film.
func DrawRim(a, b measure.Point) (Rim, error) {
	n := math.Hypot(b.X-a.X, b.Y-a.Y)
	switch {
	case math.IsNaN(n) || math.IsInf(n, 0):
		return Rim{}, NewError("rim.not-finite", nil)
	case n < leastLine:
		return Rim{}, NewError("rim.short", texts.Values{"Px": n})
	}
	return Rim{A: a, B: b}, nil
}

// Orientation is how the cup lies on a film.
type Orientation struct {
	measure.RimReading
	Version bool // whether Anteversion is known: a rim line does not tell it
	Found   bool // whether the program found the rim of a metal shell on the film
	Line    bool // whether Inclination is to a reference line; else it is to the image rows
}

// rimSD is how well a reader places each end of the rim line across it, mm at the
// hip, as a standard deviation; common practice, no source.
const rimSD = 1.0

// Orientation returns how the cup lies: from the wire ring or the rim of a metal
// shell as found on the film, in the cone beam where the reading is corrected for
// it and else in a usual one, or from the rim line that a reader drew, which replaces the one found.
// ok is false where none is there, and on a lateral film.
func (m Measurement) Orientation() (o Orientation, ok bool) {
	var e measure.EllipseFit
	switch {
	case m.Film.View() == Lateral:
		return o, false
	case m.CupKind == measure.Wire && m.Cup.Ring.A > 0:
		e, o.Version = m.Cup.RingFit(), true
		if e.Cov == ([5][5]float64{}) { // a reading of before the ring's errors were kept
			e.Cov = measure.RingScatter(max(m.Cup.Cov[0][0], m.Cup.Cov[1][1]), e.A)
		}
	case m.Rim.Proposed() && !m.Rim.fits(m.Cup.Circle):
		return o, false
	case m.Rim.Proposed():
		e.Ellipse, e.Cov = m.Rim.Found, m.Rim.Cov
		o.Version, o.Found = true, true
	case m.Rim.Drawn():
		dx, dy := m.Rim.B.X-m.Rim.A.X, m.Rim.B.Y-m.Rim.A.Y
		n := math.Hypot(dx, dy)
		e.X, e.Y, e.A = m.Rim.A.X+dx/2, m.Rim.A.Y+dy/2, n/2
		e.Angle = math.Atan2(dy, dx) * 180 / math.Pi
		scale := m.Reading.Scale
		if !(scale > 0) {
			scale = measure.MiddlingPixel
		}
		turn := rimSD / scale * math.Sqrt2 / n
		e.Cov[4][4] = turn * turn
	default:
		return o, false
	}
	rim, err := measure.ReadRim(e, m.Side, m.Line.Alpha)
	if err != nil {
		return o, false
	}
	// A cone beam changes the ring's axis ratio; of the two circles that cast it the
	// more anteverted one is taken, as for its centre.
	switch {
	case o.Version && m.How.Beam:
		b, _, _ := m.Film.Beam()
		if pose, _, err := b.Rim(e, m.Side, m.Line.Alpha); err == nil {
			rim = pose.Reading()
		}
	case o.Version:
		if usual, err := (measure.Hip{Head: m.Head, Side: m.Side}).Orientation(e, m.HeadMM, m.Line.Alpha); err == nil {
			rim = usual
		}
	}
	rim.SEInclination = math.Hypot(rim.SEInclination, m.Line.SE)
	o.RimReading, o.Line = rim, m.Line.From != NoLine
	return o, true
}
