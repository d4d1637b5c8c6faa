package session

import (
	"errors"
	"fmt"
	"slices"

	"linerwatch/app/study"
)

// counted is where movement is counted from.
type counted struct {
	film     *Film
	accepted bool // by its accepted reading
}

func (s *Session) countedFrom() counted {
	f := s.baselineFilm()
	return counted{f, f != nil && f.State() == Accepted}
}

// tellBaseline says why movement is counted otherwise than before, where the film that
// it was counted from has lost its reading: the head of the baseline moves on every
// film.
func (s *Session) tellBaseline(before counted) {
	now := s.countedFrom()
	switch {
	case before.film == nil || now.film == nil || before == now:
		return
	case before.film != now.film && s.lacks(before.film) != "":
		s.notice.baseline = fmt.Sprintf("Movement is now counted from %s: %s %s.", s.dated(now.film), s.dated(before.film), s.lacks(before.film))
	case before.film == now.film && before.accepted && now.film.Accepted == nil:
		s.notice.baseline = s.BaselineWords()
	default:
		s.notice.baseline = ""
	}
	s.changed(NoticeChanged)
}

// dated names a film by its place and its date.
func (s *Session) dated(f *Film) string {
	if s.strip.index(f) < 0 {
		return "the film of " + f.DateText()
	}
	return s.strip.label(f) + " of " + f.DateText()
}

// lacks says why movement cannot be counted from a film, "" where it can or may be yet.
func (s *Session) lacks(f *Film) string {
	switch {
	case s.strip.index(f) < 0:
		return "was taken out of the strip"
	case f.Excluded != nil:
		return "is left out"
	case s.View(f) == study.Lateral:
		return "is a lateral film"
	case !f.Dated():
		return "has no date"
	case f.step == Failed && f.Draft == nil:
		return "cannot be read"
	case f.step < Proposed && f.Draft == nil:
		return "" // not looked at yet
	case s.Numbers(f).Err != nil:
		return "has no reading"
	}
	return ""
}

// BaselineWords says what is not plain about the film that movement is counted from: an
// earlier one cannot be, or its own reading is not accepted while others are. "" where
// there is nothing to say.
func (s *Session) BaselineWords() string {
	base := s.baselineFilm()
	if base == nil {
		return ""
	}
	first := slices.IndexFunc(s.strip.films, func(f *Film) bool { return s.View(f) != study.Lateral })
	if f := s.strip.films[first]; s.hip.Baseline == "" && f != base && s.lacks(f) != "" {
		return fmt.Sprintf("Movement is counted from %s: %s %s.", s.dated(base), s.dated(f), s.lacks(f))
	}
	switch {
	case !slices.ContainsFunc(s.strip.films, func(f *Film) bool { return f.State() == Accepted }):
		return ""
	case base.changed:
		return fmt.Sprintf("Movement is counted from %s, whose outlines were changed and are not accepted.", s.dated(base))
	case base.Accepted == nil:
		return fmt.Sprintf("Movement is counted from %s, which has no accepted reading: its outlines as proposed stand for it.", s.dated(base))
	}
	return ""
}

// lostBaseline says what to do where the film that the reader chose to count from has
// no reading.
func (s *Session) lostBaseline(ms []study.Measurement) error {
	if s.hip.Baseline == "" || slices.ContainsFunc(ms, func(m study.Measurement) bool { return m.Film.Is(s.hip.Baseline) }) {
		return nil
	}
	for _, f := range s.strip.films {
		if f.Film.Is(s.hip.Baseline) {
			why := s.lacks(f)
			if why == "" {
				why = "is not outlined yet"
			}
			return fmt.Errorf("session: movement is counted from %s, which %s; give it a reading, or choose another baseline film on the Hip page", s.dated(f), why)
		}
	}
	return errors.New("session: the film that movement is counted from is not in the strip; choose another baseline film on the Hip page")
}
