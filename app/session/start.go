package session

import "fmt"

// TryStart shows the trend as it is with another start of the steady state, in
// years since surgery, without keeping it: a slider under the hand.
func (s *Session) TryStart(years float64) {
	if !s.hipKnown || years < 0 || s.hip.Start() == years {
		return
	}
	if !s.trying.on {
		s.trying.on, s.trying.before = true, s.hip
	}
	s.hip.StartYears = years
	s.retrend()
}

// KeepStart keeps what TryStart shows, as one named step.
func (s *Session) KeepStart() error {
	if !s.trying.on {
		return nil
	}
	before, now := s.trying.before, s.hip
	s.trying.on = false
	s.hip = before
	return s.setHip(now, fmt.Sprintf("start the steady state at year %g", now.StartYears))
}
