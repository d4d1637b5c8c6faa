package session

import (
	"context"
	"fmt"
	"strings"

	"linerwatch/app/study"
)

// Rests says which accepted readings would be computed anew if the hip became h, ""
// where none would: it is to be asked before SetHip.
func (s *Session) Rests(h study.Hip) string {
	what := h.Rests(s.hip)
	if !s.hipKnown || what.IsZero() {
		return ""
	}
	n := 0
	for _, f := range s.strip.films {
		for _, g := range f.Readings {
			if g.Stands() && g.Status == study.Measured {
				n++
			}
		}
	}
	if n == 0 {
		return ""
	}
	return study.NoteWords(study.Note{Code: "change.rests", Values: study.Values{"N": float64(n), "What": what}})
}

// hipChanges is what the study keeps of the changes of a hip, of one state of it.
type hipChanges struct {
	hip      string
	revision int
	lines    []string
	err      error
}

// Changes says in words who changed what of the open hip and when, the latest first.
// Nothing is kept before there is a study.
func (b *Book) Changes() ([]string, error) {
	h := b.s.hip
	if b.store == nil || h.Revision == 0 {
		return nil, nil
	}
	if c := &b.told; c.hip != h.ID || c.revision != h.Revision || c.err != nil {
		*c = hipChanges{hip: h.ID, revision: h.Revision}
		c.lines, c.err = b.readChanges(h)
	}
	return b.told.lines, b.told.err
}

func (b *Book) readChanges(now study.Hip) ([]string, error) {
	list, err := b.store.HipChanges(context.Background(), now.ID)
	if err != nil {
		return nil, err
	}
	var out []string
	for i := len(list) - 1; i >= 0; i-- {
		c, what := list[i], say("hip.entered")
		if c.Before.ID != "" {
			var parts []string
			for _, d := range now.Since(c.Before, b.filmWords) {
				parts = append(parts, d.String())
			}
			if what = strings.Join(parts, "; "); what == "" {
				what = say("hip.no-change")
			}
		}
		now = c.Before
		who := c.Reader
		if who == "" {
			who = say("hip.no-reader")
		}
		if c.Why != "" {
			what = say("history.because", "What", what, "Why", c.Why)
		}
		out = append(out, fmt.Sprintf("%s, %s: %s", c.At.Local().Format("2006-01-02 15:04"), who, what))
	}
	return out, nil
}

// filmWords names a film of the open hip by its date.
func (b *Book) filmWords(id string) string {
	if f := b.s.strip.ByID(id); f != nil {
		return say("course.film-of", "Date", f.DateText())
	}
	return say("hip.film-gone")
}
