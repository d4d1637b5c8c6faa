package session

import (
	"math"

	"linerwatch/measure"
)

// sameWithin is how far apart outlines are taken for the same, px: half of the finest step by
// which the reader moves them, 0.1 px. Refined again, an outline may still creep by less.
const sameWithin = 0.05

// Repeats reports whether the outlines shown of f are those of the reader's own reading of
// it that counts: accepted again it would be the same reading once more.
func (s *Session) Repeats(f *Film) bool {
	own := f.Accepted
	if own == nil || !f.changed || own.Reader != s.settings.Reader {
		return false
	}
	n, was := s.Numbers(f), own.Measurement
	return n.Err == nil && n.Side == was.Side && n.HeadMM == was.HeadMM && n.CupKind == was.CupKind &&
		sameOutline(n.Head, was.Head) && sameOutline(n.Cup, was.Cup) &&
		n.Line.From == was.Line.From && samePoint(n.Line.A, was.Line.A) && samePoint(n.Line.B, was.Line.B) &&
		samePoint(n.Rim.A, was.Rim.A) && samePoint(n.Rim.B, was.Rim.B)
}

// sameOutline also tells a fitted outline from one that a hand has put at the same place.
func sameOutline(a, b measure.Outline) bool {
	turned := math.Abs(a.Ring.Angle-b.Ring.Angle) * math.Pi / 180 * a.Ring.A // an end of the long axis, px
	return (len(a.Edges) == 0) == (len(b.Edges) == 0) && samePoint(a.Center(), b.Center()) && math.Abs(a.R-b.R) < sameWithin &&
		samePoint(a.Ring.Center(), b.Ring.Center()) && samePoint(measure.Point{X: a.Ring.A, Y: a.Ring.B}, measure.Point{X: b.Ring.A, Y: b.Ring.B}) &&
		turned < sameWithin
}

func samePoint(a, b measure.Point) bool { return math.Hypot(a.X-b.X, a.Y-b.Y) < sameWithin }

// OthersRead returns the code of a reader who is not the one who reads now, and whose reading
// of f counts; empty where there is none.
func (s *Session) OthersRead(f *Film) string {
	if f.Accepted == nil || f.Accepted.Reader == s.settings.Reader {
		return ""
	}
	return f.Accepted.Reader
}
