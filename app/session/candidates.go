package session

import (
	"fmt"

	"linerwatch/measure"
)

// Proposals returns how many outlines the search has proposed for f, and which of
// them is shown, from 0; -1 where the reader's own are.
func (s *Session) Proposals(f *Film) (n, shown int) {
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
func (s *Session) NextProposal() {
	f := s.selected
	if f == nil || s.drag.kind != dragNone {
		return
	}
	n, shown := s.Proposals(f)
	switch {
	case n == 0:
		s.Say("The search has proposed nothing on this film.")
		return
	case n == 1 && shown == 0:
		s.Say("The search has only one proposal for this film.")
		return
	}
	s.CancelTool()
	next := (shown + 1) % n
	before := f.memory()
	f.Draft, f.changed = f.proposals[next], f.Accepted != nil || next > 0
	f.turn++
	s.keep(f)
	s.retrend()
	s.record(change{name: fmt.Sprintf("show proposal %d, %s", next+1, s.label(f)), film: f, before: before, after: f.memory()})
	s.Say("Proposal %d of %d.", next+1, n)
	s.changed(OutlineChanged | FilmsChanged)
}

// draftsOf returns the outlines of the hips on one side, the most convincing first.
func draftsOf(hips []measure.Hip, side measure.Side) (out []*Draft) {
	for _, h := range hips {
		if side == measure.SideUnknown || h.Side == side {
			out = append(out, &Draft{Head: fitted(h.Head), Cup: fitted(h.Cup), CupKind: h.CupKind, Found: h.Warnings})
		}
	}
	return out
}
