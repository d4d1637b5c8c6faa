package findings

import (
	"slices"

	"linerwatch/app/study"
)

// Hand counts what people did beside accepting what the program proposed.
type Hand struct {
	Readings, Withdrawn, Replaced int
	LeftOut, Back                 int // films left out, and taken in again
	Baselines, Starts, BeamOff    int // hips whose baseline, start or beam is set by hand
	Lines, Rims                   int // reference lines and rims drawn, of readings that count
	Placed                        int // readings that count of which a hand placed an outline
	Doubtful                      int // those that were accepted in spite of another warning
	Drafts                        int
}

func (c *Hand) add(r study.Record, entries []study.FilmEntry, whose string) {
	h := r.Hip
	c.Drafts += r.Drafts
	for _, g := range r.Readings {
		c.Readings++
		if !g.Stands() {
			c.Withdrawn++
		}
		if g.Supersedes != "" {
			c.Replaced++
		}
	}
	for _, e := range r.Exclusions {
		if e.Code == "" {
			c.Back++
		}
	}
	for _, set := range []struct {
		n  *int
		is bool
	}{{&c.Baselines, h.Baseline != ""}, {&c.Starts, h.StartYears != 0}, {&c.BeamOff, h.BeamOff}} {
		if set.is {
			*set.n++
		}
	}
	for _, e := range entries {
		if e.State == study.FilmExcluded {
			c.LeftOut++
		}
		if e.State != study.FilmRead {
			continue
		}
		if e.Reading.Line.From == study.Drawn {
			c.Lines++
		}
		if e.Reading.Rim.Drawn() && !(e.Reading.Rim.Found.A > 0) {
			c.Rims++
		}
		placed := slices.ContainsFunc(e.Reading.Warnings, func(w study.Warning) bool { return w.Code == study.WarnByHand })
		switch {
		case placed:
			c.Placed++
		case len(e.Reading.Warnings) > 0:
			c.Doubtful++
		}
	}
}
