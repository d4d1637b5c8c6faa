package session

import (
	"linerwatch/app/study"
	"linerwatch/measure"
)

// Kind is what films say of whose they are; empty where they do not say.
type Kind struct {
	Patient string
	Side    measure.Side
}

// fits reports whether nothing that a and b say contradicts.
func (a Kind) fits(b Kind) bool {
	return (a.Patient == "" || b.Patient == "" || a.Patient == b.Patient) &&
		(a.Side == measure.SideUnknown || b.Side == measure.SideUnknown || a.Side == b.Side)
}

// Doubt says why no number of f is to be trusted yet, or "": a magnification that
// no hip has comes from a wrong head diameter or a wrong spacing.
func (s *Session) Doubt(f *Film) string {
	n := s.Numbers(f)
	_, doubtful := study.WarnMagnification(n.Magnification)
	if n.Err != nil || !n.HasMagnify || !doubtful {
		return ""
	}
	return doubtWords(n.Magnification, s.hip.Implant.HeadMM)
}
