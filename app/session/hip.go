package session

import (
	"cmp"
	"strconv"

	"linerwatch/app/study"
)

// Hip returns the hip being read; known is false until its implant and dates
// have been given.
func (s *Session) Hip() (h study.Hip, known bool) { return s.hip, s.hipKnown }

// NeedsHip reports whether the reader has to be asked for implant and dates:
// films are read and none of it is known.
func (s *Session) NeedsHip() bool {
	if s.hipKnown {
		return false
	}
	read := false
	for _, f := range s.strip.films {
		if f.step == Waiting || f.step == Loading {
			return false
		}
		read = read || f.wasRead()
	}
	return read
}

// Claimed returns whose the films in the strip are, as their files say.
func (s *Session) Claimed() (k Kind) {
	for _, f := range s.strip.films {
		k.Patient = cmp.Or(k.Patient, f.Facts.Patient)
		k.Side = cmp.Or(k.Side, f.Side())
	}
	return k
}

func number(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// SetHip takes the details of the hip as one named step, saves them where a
// study file is open, and starts the proposals.
func (s *Session) SetHip(h study.Hip) error { return s.setHip(h, study.Note{Code: "step.details"}, "") }

// setHip is SetHip as a step of a name, with the reason of the change.
func (s *Session) setHip(h study.Hip, name study.Note, why string) error {
	if err := h.Validate(s.cfg.Now()); err != nil {
		return err
	}
	if s.hipKnown {
		h.Baseline = s.hip.Baseline
	}
	before, anew := memory{hip: s.hip, known: s.hipKnown}, s.Rests(h) != ""
	if err := s.applyHip(h, true, why); err != nil {
		return err
	}
	if before.known {
		s.history.record(change{name: name, before: before, after: memory{hip: h, known: true}})
	}
	if anew {
		s.Say("%s", say("hip.computed-anew"))
	}
	return nil
}

func (s *Session) applyHip(h study.Hip, known bool, why string) error {
	if s.hipKnown { // it stays the same one when a detail is corrected
		h.ID, h.Revision = s.hip.ID, s.hip.Revision
	}
	if !s.hipKnown {
		if err := s.book.Hidden(); err != nil {
			return err
		}
	}
	if s.book.store != nil && known {
		var err error
		if h, err = s.book.saveHip(h, why); err != nil {
			return err
		}
	}
	s.showHip(h, known)
	return nil
}

// showHip takes the hip as it is saved.
func (s *Session) showHip(h study.Hip, known bool) {
	again := known && (!s.hipKnown || h.Side != s.hip.Side || h.Implant.HeadMM != s.hip.Implant.HeadMM)
	s.hip, s.hipKnown = h, known
	s.outdate()
	for _, f := range s.strip.films {
		if again && f.Accepted == nil && !f.changed && (f.step == Proposed || f.step == Refused) {
			f.step, f.Draft, f.proposal, f.proposals = Loaded, nil, nil, nil
			f.turn++
		}
		s.work.need(f)
	}
	s.course.renew()
	s.changed(Everything)
}

// SetBaseline counts penetration from another film, or from the earliest for "",
// as one named step.
func (s *Session) SetBaseline(filmID string) error {
	if !s.hipKnown || s.hip.Baseline == filmID {
		return nil
	}
	before, h := memory{hip: s.hip, known: true}, s.hip
	h.Baseline = filmID
	if err := s.applyHip(h, true, ""); err != nil {
		return err
	}
	name := study.Note{Code: "step.earliest"}
	if f := s.strip.ByID(filmID); f != nil {
		name = s.strip.onFilm("step.baseline", f)
	}
	s.history.record(change{name: name, before: before, after: memory{hip: h, known: true}})
	return nil
}

// SetBeamOff says whether the films of the hip are left uncorrected for the cone
// beam, as one step.
func (s *Session) SetBeamOff(off bool) error {
	if !s.hipKnown || s.hip.BeamOff == off {
		return nil
	}
	h := s.hip
	h.BeamOff = off
	return s.SetHip(h)
}
