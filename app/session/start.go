package session

import "linerwatch/app/study"

// TryStart shows the trend as it is with another start of the steady state, in
// years since surgery, without keeping it: a slider under the hand.
func (c *Course) TryStart(years float64) {
	if !c.s.hipKnown || years < 0 || c.s.hip.Start() == years {
		return
	}
	if !c.trying.on {
		c.trying.on, c.trying.before = true, c.s.hip
	}
	c.s.hip.StartYears = years
	c.renew()
}

// KeepStart keeps what TryStart shows, as one named step.
func (c *Course) KeepStart() error {
	if !c.trying.on {
		return nil
	}
	before, now := c.trying.before, c.s.hip
	c.trying.on = false
	c.s.hip = before
	return c.s.setHip(now, study.Note{Code: "step.start", Values: study.Values{"Years": now.StartYears}}, "")
}
