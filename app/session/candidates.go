package session

import (
	"errors"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// Proposals returns how many outlines the search has proposed for f, and which of
// them is shown, from 0; -1 where the reader's own are.
func (e *Edits) Proposals(f *Film) (n, shown int) {
	if f == nil {
		return 0, -1
	}
	for i, d := range f.proposals {
		if d == f.Draft {
			return len(f.proposals), i
		}
	}
	return len(f.proposals), -1
}

// NextProposal shows the next of the outlines that the search has proposed for the
// selected film, as one named step; after the last comes the first again.
func (e *Edits) NextProposal() {
	f := e.s.strip.selected
	if f == nil || e.s.mouse.busy() {
		return
	}
	n, shown := e.Proposals(f)
	switch {
	case !e.s.hipKnown:
		e.s.Say("%s", say("search.before-hip"))
		return
	case n == 0:
		e.s.Say("%s", say("search.none"))
		return
	case n == 1 && shown == 0:
		e.s.Say("%s", say("search.only-one"))
		return
	}
	e.s.mouse.CancelTool()
	next := (shown + 1) % n
	before := f.memory()
	f.Draft, f.changed = f.proposals[next], f.Accepted != nil || f.proposals[next] != f.proposal
	f.turn++
	e.s.drafts.keep(f)
	e.s.course.renew()
	step := e.s.strip.onFilm("step.proposal", f)
	step.Values["Proposal"] = float64(next + 1)
	e.s.history.record(change{name: step, film: f, before: before, after: f.memory()})
	if !f.Draft.unplaced().IsZero() {
		e.s.Say("%s", say("search.rough", "N", next+1, "Of", n))
	} else {
		e.s.Say("%s", say("search.proposal", "N", next+1, "Of", n))
	}
	e.s.viewer.aim(f)
	e.s.changed(OutlineChanged | FilmsChanged)
}

// draftsOf returns the outlines of the hips on one side, the most convincing first,
// and then those that the search weighed and did not take.
func draftsOf(hips []measure.Hip, side measure.Side) (out []*Draft) {
	for _, h := range hips {
		if side == measure.SideUnknown || h.Side == side {
			out = append(out, &Draft{Head: fitted(h.Head), Cup: fitted(h.Cup), CupKind: h.CupKind, Found: h.Warnings, Rim: study.ProposeRim(h)})
		}
	}
	for _, h := range hips {
		if side == measure.SideUnknown || h.Side == side {
			for _, c := range h.Others {
				out = append(out, weighed(c, h.Head.Circle, h.Cup.Circle))
			}
		}
	}
	return out
}

// weighedOf returns what the search weighed on a film on which it took nothing. A
// head without a cup, or a cup without a head, gets the other about its centre;
// times is how much larger a middling cup is than the head.
func weighedOf(err error, times float64) (out []*Draft) {
	var refusal *measure.Refusal
	if !errors.As(err, &refusal) {
		return nil
	}
	for _, c := range refusal.Candidates {
		head, cup := c.Head, c.Cup
		if head.R == 0 {
			head, head.R = cup, cup.R/times
		}
		if cup.R == 0 {
			cup, cup.R = head, head.R*times
		}
		out = append(out, weighed(c, head, cup))
	}
	return out
}

// weighed returns the outlines of a candidate; what it lacks is as given.
func weighed(c measure.Candidate, head, cup measure.Circle) *Draft {
	if c.Head.R > 0 {
		head = c.Head
	}
	if c.Cup.R > 0 {
		cup = c.Cup
	}
	return &Draft{Head: rough(head), Cup: rough(cup), CupKind: measure.Shell,
		Found: []study.Warning{{Code: study.WarnNotTaken, Values: study.Values{"Why": c.Reason}}}}
}
