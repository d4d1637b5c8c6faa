package session

import (
	"errors"
	"time"

	"linerwatch/app/study"
)

// Trend returns the hip's trend from the outlines shown: accepted readings and
// drafts. The error says why there is none.
func (s *Session) Trend() (study.Trend, error) {
	if s.trendIs != nil {
		return study.Trend{}, s.trendIs
	}
	return s.trend, nil
}

// NotAccepted returns how many films count in the trend by outlines that nobody has
// accepted: they count in no table.
func (s *Session) NotAccepted() (n int) {
	if s.trendIs != nil {
		return 0
	}
	for _, p := range s.trend.Penetration {
		if f := s.strip.ByID(p.Film.ID); f != nil && f.State() != Accepted {
			n++
		}
	}
	return n
}

// Penetration returns the movement of the head on f since the baseline film.
func (s *Session) Penetration(f *Film) (p study.Penetration, ok bool) {
	if s.trendIs != nil {
		return p, false
	}
	for _, p := range s.trend.Penetration {
		if p.Film.ID == f.ID {
			return p, true
		}
	}
	return p, false
}

// MovedOnFilm returns how far the head has moved on f since the baseline film, px of f, and
// the length of that in mm; ok is false where nothing is counted there.
func (s *Session) MovedOnFilm(f *Film) (dx, dy, mm float64, ok bool) {
	p, ok := s.Penetration(f)
	if !ok || s.IsBaseline(f) {
		return 0, 0, 0, false
	}
	dx, dy, ok = s.trend.OnFilm(f.Film, p.Vector)
	mm, _ = p.Magnitude()
	return dx, dy, mm, ok
}

// IsBaseline reports whether penetration is counted from f.
func (s *Session) IsBaseline(f *Film) bool {
	return s.trendIs == nil && s.trend.Baseline.ID == f.ID
}

var (
	errHipUnknown = errors.New("the implant and the date of surgery are not known yet")
	errNoOutlines = errors.New("no film is outlined yet")
)

// trendDelay is the time within which results of the background are joined to one
// new trend: of a thousand films it takes some ten milliseconds.
const trendDelay = 200 * time.Millisecond

// retrendSoon computes the trend anew for a result of the background, with those that
// come soon after it; at the latest once the background rests.
func (s *Session) retrendSoon() {
	if s.trendDue == nil {
		s.trendDue = s.work.queue.After(trendDelay, s.retrendDue)
	}
}

func (s *Session) retrendDue() {
	if s.trendDue != nil {
		s.retrend()
	}
}

// retrend computes the trend anew.
func (s *Session) retrend() {
	if s.trendDue != nil {
		s.trendDue()
		s.trendDue = nil
	}
	before := s.base
	s.accepted = nil
	s.trend, s.trendIs = s.computeTrend()
	s.base = s.countedFrom()
	s.tellBaseline(before)
	s.changed(TrendChanged)
}

func (s *Session) computeTrend() (study.Trend, error) {
	if !s.hipKnown {
		return study.Trend{}, errHipUnknown
	}
	var ms []study.Measurement
	for _, f := range s.strip.films {
		if f.Excluded != nil {
			continue
		}
		if n := s.Numbers(f); n.Err == nil {
			ms = append(ms, n.Measurement)
		}
	}
	if len(ms) == 0 {
		return study.Trend{}, errNoOutlines
	}
	if err := s.lostBaseline(ms); err != nil {
		return study.Trend{}, err
	}
	return study.NewTrend(s.hip, ms)
}

// Aside returns where the films that are left out would lie, counted from the
// same baseline.
func (s *Session) Aside() []study.Penetration {
	if s.trendIs != nil {
		return nil
	}
	var out []study.Penetration
	for _, f := range s.strip.films {
		if f.Excluded == nil {
			continue
		}
		if n := s.Numbers(f); n.Err == nil {
			if p, ok := s.trend.Aside(n.Measurement); ok {
				out = append(out, p)
			}
		}
	}
	return out
}

// Moved returns the movement of the head on f since the baseline film, where it
// counts and where it is left out.
func (s *Session) Moved(f *Film) (p study.Penetration, ok bool) {
	if p, ok = s.Penetration(f); ok {
		return p, true
	}
	for _, p := range s.Aside() {
		if p.Film.ID == f.ID {
			return p, true
		}
	}
	return study.Penetration{}, false
}
