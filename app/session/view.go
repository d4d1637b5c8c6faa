package session

import (
	"cmp"

	"linerwatch/app/study"
)

// View returns how f was taken; a film that does not say is AP.
func (s *Session) View(f *Film) study.View {
	if f == nil {
		return study.AP
	}
	return cmp.Or(f.View(), study.AP)
}

// SetBeamOff says whether the films of the hip are left uncorrected for the cone
// beam, as one step.
func (s *Session) SetBeamOff(off bool) error {
	if !s.hipKnown || s.hip.BeamOff == off {
		return nil
	}
	h := s.hip
	h.BeamOff = off
	return s.SetHip(h)
}

// searchAgain searches f for its new view, and reports whether it can.
func (w *Work) searchAgain(f *Film) bool {
	f.findings = findings{}
	if !f.changed && f.Accepted == nil {
		f.Draft = nil
	}
	if !w.s.hipKnown || !f.wasRead() || f.step < Searching || f.step == Failed {
		return false
	}
	if f.step != Searching { // else the search starts anew once it has ended
		w.detect(f)
	}
	return true
}
