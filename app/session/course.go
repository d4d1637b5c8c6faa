package session

import (
	"slices"
	"time"

	"linerwatch/app/study"
)

var (
	errHipUnknown = study.NewError("trend.hip-unknown", nil)
	errNoOutlines = study.NewError("trend.no-outlines", nil)
	errUngraded   = study.NewError("trend.ungraded", nil)
)

// trendDelay is the time within which results of the background are joined to one
// new trend: of a thousand films it takes some ten milliseconds.
const trendDelay = 200 * time.Millisecond

// Course is the movement of the head over the films of the hip: the trend of what is
// outlined, computed anew whenever that changes, the film that it is counted from, the
// trend of accepted readings alone, and another start of the steady state while it is
// tried.
type Course struct {
	s *Session

	trend    study.Trend
	err      error  // why there is none
	due      func() // calls off the trend that is to come; nil where none is
	base     counted
	unjoined []study.Unjoined // films that nobody has accepted and that the trend cannot hold
	accepted *acceptedTrend   // nil until it is asked for
	peers    peers
	trying   struct { // another start of the steady state
		on     bool
		before study.Hip
	}
}

// Course returns the movement of the head over the films of the hip.
func (s *Session) Course() *Course { return &s.course }

// Trend returns the hip's trend from the outlines shown: accepted readings and
// drafts. The error says why there is none.
func (s *Session) Trend() (study.Trend, error) {
	if s.course.err != nil {
		return study.Trend{}, s.course.err
	}
	return s.course.trend, nil
}

// Penetration returns the movement of the head on f since the baseline film.
func (s *Session) Penetration(f *Film) (p study.Penetration, ok bool) {
	if s.course.err != nil {
		return p, false
	}
	for _, p := range s.course.trend.Penetration {
		if p.Film.ID == f.ID {
			return p, true
		}
	}
	return p, false
}

// Moved returns the movement of the head on f since the baseline film, where it
// counts and where it is left out.
func (c *Course) Moved(f *Film) (p study.Penetration, ok bool) {
	if p, ok = c.s.Penetration(f); ok {
		return p, true
	}
	for _, p := range c.Aside() {
		if p.Film.ID == f.ID {
			return p, true
		}
	}
	return study.Penetration{}, false
}

// MovedOnFilm returns how far the head has moved on f since the baseline film, px of f, and
// the length of that in mm; ok is false where nothing is counted there.
func (c *Course) MovedOnFilm(f *Film) (dx, dy, mm float64, ok bool) {
	p, ok := c.s.Penetration(f)
	if !ok || c.IsBaseline(f) {
		return 0, 0, 0, false
	}
	dx, dy, ok = c.trend.OnFilm(f.Film, p.Vector)
	mm, _ = p.Magnitude()
	return dx, dy, mm, ok
}

// Aside returns where the films that are left out would lie, counted from the
// same baseline.
func (c *Course) Aside() []study.Penetration {
	if c.err != nil {
		return nil
	}
	var out []study.Penetration
	for _, f := range c.s.strip.films {
		if f.Excluded == nil {
			continue
		}
		if n := c.s.Numbers(f); n.Err == nil {
			if p, ok := c.trend.Aside(n.Measurement); ok {
				out = append(out, p)
			}
		}
	}
	return out
}

// NotAccepted returns how many films count in the trend by outlines that nobody has
// accepted: they count in no table.
func (c *Course) NotAccepted() (n int) {
	if c.err != nil {
		return 0
	}
	for _, p := range c.trend.Penetration {
		if f := c.s.strip.ByID(p.Film.ID); f != nil && f.State() != Accepted {
			n++
		}
	}
	return n
}

// Unjoined reports whether the trend cannot hold f, which nobody has accepted.
func (c *Course) Unjoined(f *Film) bool {
	return slices.ContainsFunc(c.unjoined, func(u study.Unjoined) bool { return u.Film.Is(f.ID) })
}

// IsBaseline reports whether penetration is counted from f.
func (c *Course) IsBaseline(f *Film) bool {
	return c.err == nil && c.trend.Baseline.ID == f.ID
}

// baseline returns the film that movement is counted from, or nil.
func (c *Course) baseline() *Film {
	if c.err != nil {
		return nil
	}
	return c.s.strip.ByID(c.trend.Baseline.ID)
}

// method returns how films are read: all of the hip alike.
func (c *Course) method() study.Method {
	if c.err == nil {
		return c.trend.Method
	}
	return study.Method{Beam: !c.s.hip.BeamOff, Line: true}
}

// rename has the trend call a film by its code in the study, until it is computed anew.
func (c *Course) rename(was, now string) {
	t := &c.trend
	if t.Baseline.ID == was {
		t.Baseline.ID = now
	}
	for _, films := range [][]study.Measurement{t.Films, t.Lateral} {
		for i := range films {
			if films[i].Film.ID == was {
				films[i].Film.ID = now
			}
		}
	}
	for i := range t.Penetration {
		if t.Penetration[i].Film.ID == was {
			t.Penetration[i].Film.ID = now
		}
	}
	c.renewSoon()
}

// renewSoon computes the trend anew for a result of the background, with those that
// come soon after it; at the latest once the background rests.
func (c *Course) renewSoon() {
	if c.due == nil {
		c.due = c.s.work.queue.After(trendDelay, c.renewDue)
	}
}

func (c *Course) renewDue() {
	if c.due != nil {
		c.renew()
	}
}

// renew computes the trend anew.
func (c *Course) renew() {
	if c.due != nil {
		c.due()
		c.due = nil
	}
	before := c.base
	c.accepted = nil
	c.unjoined = nil
	c.trend, c.err = c.compute()
	c.base = c.countedFrom()
	c.tellBaseline(before)
	c.s.changed(TrendChanged)
}

func (c *Course) compute() (study.Trend, error) {
	if !c.s.hipKnown {
		return study.Trend{}, errHipUnknown
	}
	var accepted, proposed []study.Measurement
	var later []study.Unjoined
	for _, f := range c.s.strip.films {
		if f.Excluded != nil {
			continue
		}
		n := c.s.Numbers(f)
		switch {
		case n.Err != nil:
		case f.Accepted != nil && c.s.hip.Later(f.Film):
			later = append(later, study.LaterFilm(c.s.hip, f.Film))
		case f.Accepted != nil:
			accepted = append(accepted, n.Measurement)
		default:
			proposed = append(proposed, n.Measurement)
		}
	}
	ms, unjoined := study.Joinable(c.s.hip, accepted, proposed)
	if len(accepted) == 0 && len(ms) == 0 && len(unjoined) > 0 {
		return study.NewTrend(c.s.hip, proposed) // says which film it is
	}
	unjoined = append(unjoined, later...)
	if len(ms) == 0 && slices.ContainsFunc(c.s.strip.films, func(f *Film) bool { return f.Draft != nil && c.s.Covered(f) }) {
		return study.Trend{}, errUngraded
	}
	if len(ms) == 0 {
		return study.Trend{}, errNoOutlines
	}
	if err := c.lostBaseline(ms); err != nil {
		return study.Trend{}, err
	}
	c.unjoined = unjoined
	t, err := study.NewTrend(c.s.hip, ms)
	for _, u := range unjoined {
		v := study.Values{"Film": u.Film.Name(), "Why": u.Why}
		if f := c.s.strip.ByID(u.Film.ID); f != nil {
			v["Film"] = c.s.strip.label(f)
		}
		t.Warnings = append([]study.Note{{Code: "trend.not-joined", Values: v}}, t.Warnings...)
	}
	return t, err
}
