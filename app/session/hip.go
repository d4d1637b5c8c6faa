package session

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"linerwatch/app/study"
	"linerwatch/measure"
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

// HipForm is the text of the form in which implant and dates are asked.
type HipForm struct {
	Patient, Group, Side, Surgery, StartYears string
	HeadMM, HeadMaterial, LinerMM, PE         string
	ShellMM, Fixation                         string

	Rest study.Hip // details that the form does not ask are taken from it
}

// The fields of a HipForm, as its faults name them; but for patient and group they
// are those of study.Fault.
const (
	FieldPatient  = "patient"
	FieldGroup    = "group"
	FieldSide     = "side"
	FieldSurgery  = "surgery"
	FieldHead     = "head"
	FieldMaterial = "material"
	FieldLiner    = "liner"
	FieldPE       = "PE"
	FieldShell    = "shell"
	FieldFixation = "fixation"
	FieldStart    = "start"
)

// FormFault is a fault in one field.
type FormFault struct{ Field, Message string }

// Form returns the form filled with what is known: the hip's details, or what
// the films say.
func (s *Session) Form() HipForm {
	if s.hipKnown {
		h := s.hip
		return HipForm{Rest: h,
			Patient: h.Patient, Side: h.Side.String(), Surgery: h.Surgery.Format(time.DateOnly),
			Group: h.Group, StartYears: number(h.StartYears),
			HeadMM: number(h.Implant.HeadMM), HeadMaterial: h.Implant.HeadMaterial, LinerMM: number(h.Implant.LinerMM),
			PE: h.Implant.PE, ShellMM: number(h.Implant.ShellMM), Fixation: h.Implant.Fixation,
		}
	}
	k := s.Claimed()
	return HipForm{StartYears: "1", Patient: k.Patient, Side: k.Side.String()}
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

// Hip reads the form; now is the present time. Faults name their fields. What
// can be read is checked by study.Hip.Validate.
func (f HipForm) Hip(now time.Time) (study.Hip, []FormFault) {
	var faults []FormFault
	fault := func(field, text string) {
		faults = append(faults, FormFault{field, text})
	}
	value := func(field, name, text string) float64 {
		text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "mm"))
		if text == "" {
			return 0
		}
		v, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
		if err != nil || math.IsNaN(v) {
			fault(field, say("hip.no-number", "Name", name, "Text", text))
		}
		return v
	}
	h := f.Rest
	var err error
	if h.Patient = strings.TrimSpace(f.Patient); h.Patient == "" {
		fault(FieldPatient, say("hip.code-needed"))
	} else if why := study.CodeFault(h.Patient); !why.IsZero() {
		fault(FieldPatient, study.NoteWords(why))
	}
	h.Group = strings.TrimSpace(f.Group)
	if h.Side, err = measure.ParseSide(f.Side); err != nil {
		fault(FieldSide, say("hip.choose-side"))
	}
	h.Surgery = time.Time{}
	if text := strings.TrimSpace(f.Surgery); text != "" {
		if h.Surgery, err = time.Parse(time.DateOnly, text); err != nil {
			fault(FieldSurgery, say("hip.surgery-date"))
		}
	}
	h.Implant.HeadMM = value(FieldHead, say("detail.head"), f.HeadMM)
	h.Implant.LinerMM = value(FieldLiner, say("detail.liner"), f.LinerMM)
	h.Implant.PE, h.Implant.HeadMaterial, h.Implant.Fixation = f.PE, f.HeadMaterial, f.Fixation
	h.Implant.ShellMM = value(FieldShell, say("hip.shell-diameter"), f.ShellMM)
	h.StartYears = value(FieldStart, say("hip.steady-start"), f.StartYears)
	return h, append(faults, newFaults(h.Validate(now), faults)...)
}

// newFaults returns the faults of err in fields that have none yet.
func newFaults(err error, known []FormFault) []FormFault {
	var list *study.FaultsError
	switch {
	case err == nil:
		return nil
	case !errors.As(err, &list):
		return []FormFault{{"", study.Told(err)}}
	}
	var out []FormFault
	for _, f := range list.Faults {
		if !slices.ContainsFunc(known, func(k FormFault) bool { return k.Field == f.Field }) {
			out = append(out, FormFault{f.Field, study.NoteWords(f.Why)})
		}
	}
	return out
}

// SetHip takes the details of the hip as one named step, saves them where a
// study file is open, and starts the proposals.
func (s *Session) SetHip(h study.Hip) error { return s.setHip(h, study.Note{Code: "step.details"}) }

func (s *Session) setHip(h study.Hip, name study.Note) error {
	if err := h.Validate(s.cfg.Now()); err != nil {
		return err
	}
	if s.hipKnown {
		h.Baseline = s.hip.Baseline
	}
	before, anew := memory{hip: s.hip, known: s.hipKnown}, s.Rests(h) != ""
	if err := s.applyHip(h, true); err != nil {
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

func (s *Session) applyHip(h study.Hip, known bool) error {
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
		if h, err = s.book.saveHip(h); err != nil {
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
	if err := s.applyHip(h, true); err != nil {
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
