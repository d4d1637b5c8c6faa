package session

import (
	"slices"

	"linerwatch/app/study"
)

// counted is where movement is counted from.
type counted struct {
	film     *Film
	accepted bool // by its accepted reading
}

func (c *Course) countedFrom() counted {
	f := c.baseline()
	return counted{f, f != nil && f.State() == Accepted}
}

// tellBaseline says why movement is counted otherwise than before, where the film that
// it was counted from has lost its reading: the head of the baseline moves on every
// film.
func (c *Course) tellBaseline(before counted) {
	now := c.countedFrom()
	switch {
	case before.film == nil || now.film == nil || before == now:
		return
	case before.film != now.film && !c.lacks(before.film).IsZero():
		c.s.notice.baseline = say("course.now-counted", "Film", c.dated(now.film), "Other", c.dated(before.film), "Why", study.NoteWords(c.lacks(before.film)))
	case before.film == now.film && before.accepted && now.film.Accepted == nil:
		c.s.notice.baseline = c.BaselineWords()
	default:
		c.s.notice.baseline = ""
	}
	c.s.changed(NoticeChanged)
}

// dated names a film by its place and its date.
func (c *Course) dated(f *Film) string {
	if c.s.strip.index(f) < 0 {
		return say("course.film-of", "Date", f.DateText())
	}
	return say("course.labelled", "Film", c.s.strip.label(f), "Date", f.DateText())
}

// lacks says why movement cannot be counted from a film, nothing where it can or may be yet.
func (c *Course) lacks(f *Film) study.Note {
	switch {
	case c.s.strip.index(f) < 0:
		return study.Note{Code: "lacks.strip"}
	case f.Excluded != nil:
		return study.Note{Code: "lacks.left-out"}
	case c.s.View(f) == study.Lateral:
		return study.Note{Code: "lacks.lateral"}
	case !f.Dated():
		return study.Note{Code: "lacks.date"}
	case f.step == Failed && f.Draft == nil:
		return study.Note{Code: "lacks.file"}
	case f.step < Proposed && f.Draft == nil:
		return study.Note{} // not looked at yet
	case c.s.Covered(f):
		return study.Note{Code: "lacks.grade"}
	case c.s.Numbers(f).Err != nil:
		return study.Note{Code: "lacks.reading"}
	}
	return study.Note{}
}

// BaselineWords says what is not plain about the film that movement is counted from: an
// earlier one cannot be, or its own reading is not accepted while others are. "" where
// there is nothing to say.
func (c *Course) BaselineWords() string {
	base := c.baseline()
	if base == nil {
		return ""
	}
	first := slices.IndexFunc(c.s.strip.films, func(f *Film) bool { return c.s.View(f) != study.Lateral })
	if f := c.s.strip.films[first]; c.s.hip.Baseline == "" && f != base && !c.lacks(f).IsZero() {
		return say("course.counted-from", "Film", c.dated(base), "Other", c.dated(f), "Why", study.NoteWords(c.lacks(f)))
	}
	switch {
	case !slices.ContainsFunc(c.s.strip.films, func(f *Film) bool { return f.State() == Accepted }):
		return ""
	case base.changed:
		return say("course.counted-changed", "Film", c.dated(base))
	case base.Accepted == nil:
		return say("course.counted-proposed", "Film", c.dated(base))
	}
	return ""
}

// lostBaseline says what to do where the film that the reader chose to count from has
// no reading.
func (c *Course) lostBaseline(ms []study.Measurement) error {
	if c.s.hip.Baseline == "" || slices.ContainsFunc(ms, func(m study.Measurement) bool { return m.Film.Is(c.s.hip.Baseline) }) {
		return nil
	}
	for _, f := range c.s.strip.films {
		if f.Film.Is(c.s.hip.Baseline) {
			why := c.lacks(f)
			if why.IsZero() {
				why = study.Note{Code: "lacks.outline"}
			}
			return study.NewError("baseline.lacks", study.Values{"Film": c.dated(f), "Why": why})
		}
	}
	return study.NewError("baseline.not-here", nil)
}
