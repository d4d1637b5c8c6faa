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
	if !s.hipKnown || what == "" {
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
	switch n {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("One accepted reading rests on the %s and will be computed anew.", what)
	}
	return fmt.Sprintf("%d accepted readings rest on the %s and will be computed anew.", n, what)
}

// hipChanges is what the study keeps of the changes of a hip, of one state of it.
type hipChanges struct {
	hip      string
	revision int
	lines    []string
	err      error
}

// HipChanges says in words who changed what of the open hip and when, the latest first.
// Nothing is kept before there is a study.
func (s *Session) HipChanges() ([]string, error) {
	h := s.hip
	if s.store == nil || h.Revision == 0 {
		return nil, nil
	}
	if c := &s.told; c.hip != h.ID || c.revision != h.Revision || c.err != nil {
		*c = hipChanges{hip: h.ID, revision: h.Revision}
		c.lines, c.err = s.readChanges(h)
	}
	return s.told.lines, s.told.err
}

func (s *Session) readChanges(now study.Hip) ([]string, error) {
	list, err := s.store.HipChanges(context.Background(), now.ID)
	if err != nil {
		return nil, err
	}
	var out []string
	for i := len(list) - 1; i >= 0; i-- {
		c, what := list[i], "entered"
		if c.Before.ID != "" {
			var parts []string
			for _, d := range now.Since(c.Before, s.filmWords) {
				parts = append(parts, d.String())
			}
			if what = strings.Join(parts, "; "); what == "" {
				what = "saved without a change"
			}
		}
		now = c.Before
		who := c.Reader
		if who == "" {
			who = "no reader's code"
		}
		out = append(out, fmt.Sprintf("%s, %s: %s", c.At.Local().Format("2006-01-02 15:04"), who, what))
	}
	return out, nil
}

// filmWords names a film of the open hip by its date.
func (s *Session) filmWords(id string) string {
	if f := s.strip.ByID(id); f != nil {
		return "the film of " + f.DateText()
	}
	return "a film that is not here any more"
}
