package session

import (
	"cmp"
	"math"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// Numbers are what the side panel shows of one film.
type Numbers struct {
	study.Measurement
	Err           error // why there is no reading; the other fields but Film are then empty
	Magnification float64
	HasMagnify    bool
}

// Numbers returns the live reading of f from the outlines shown; none where they are covered
// (Covered): the error is ErrNoGrade then.
func (s *Session) Numbers(f *Film) Numbers {
	n := Numbers{Measurement: study.Measurement{Film: f.Film}}
	switch {
	case !s.hipKnown:
		n.Err = study.NewError("reading.no-implant", nil)
		return n
	case f.Draft == nil:
		n.Err = study.NewError("reading.nothing", nil)
		return n
	case s.Covered(f):
		n.Err = ErrNoGrade
		return n
	}
	d, how := s.bounded(f, *f.Draft), s.course.method()
	m, err := s.read(f, d, how)
	if err != nil {
		n.Err = err
		return n
	}
	if !how.Beam {
		ring := m.Beam.RingMM
		m.Beam = study.Uncorrected(s.hip, m)
		m.Beam.RingMM = ring
	}
	n.Measurement = m
	r := m.Reading
	if spacing := cmp.Or(f.Imager, f.Facts.SpacingMM); spacing > 0 && r.Scale > 0 { // of a file that is missing, as it was
		n.Magnification, n.HasMagnify = spacing/r.Scale, true
	}
	n.Warnings = s.warnings(f, d, n)
	return n
}

// read returns what is read from the outlines d of f: of an accepted reading what the
// study makes of it, and of others what they tell.
func (s *Session) read(f *Film, d Draft, how study.Method) (study.Measurement, error) {
	if g := f.Accepted; g != nil && !f.changed {
		kept := *g
		kept.Film = f.Film
		m := s.AsNow(kept)
		if m.Status != study.Measured {
			return m, &study.NoteError{Note: m.Reason}
		}
		return m, nil
	}
	if why := d.unplaced(); !why.IsZero() {
		return study.Measurement{}, &study.NoteError{Note: why}
	}
	m := study.Measurement{Film: f.Film, Status: study.Measured, Side: s.hip.Side, HeadMM: s.hip.Implant.HeadMM,
		Head: d.Head.Outline(), Cup: d.Cup.Outline(), CupKind: d.CupKind, Line: d.Line, Rim: d.Rim}
	return m.Read(how)
}

// AsNow returns what an accepted reading comes to for the hip as it is now, by the
// method by which its films are read.
func (s *Session) AsNow(g study.Reading) study.Measurement {
	m := g.For(s.hip)
	if m.Status == study.Measured {
		if now, ok := m.By(s.course.method()); ok {
			return now
		}
	}
	return m
}

// warnings returns what the reader of the outlines d of f should weigh.
func (s *Session) warnings(f *Film, d Draft, n Numbers) []study.Warning {
	var out []study.Warning
	var found []study.Warning
	if !d.Head.Hand && !d.Cup.Hand {
		found = d.Found
	}
	if f.file != nil {
		out = batch.Warnings(f.file, measure.Hip{Side: s.hip.Side, Warnings: found}, n.Measurement)
	} else {
		out = append(out, found...)
	}
	for _, part := range []measure.Part{measure.Head, measure.Cup} {
		if t := d.Trace(part); t.Hand {
			out = append(out, t.byHand(part, n.Reading.Scale))
		}
	}
	if w := s.fileContradicts(f); w.Code != "" {
		out = append(out, w)
	}
	return study.Unique(out)
}

// fileContradicts tells where the file's patient code or date disagrees with the hip.
func (s *Session) fileContradicts(f *Film) study.Warning {
	switch {
	case f.Facts.Patient != "" && s.hip.Patient != "" && f.Facts.Patient != s.hip.Patient:
		return study.WarnOtherPatient(f.Facts.Patient, s.hip.Patient)
	case f.Dated() && !s.hip.Surgery.IsZero() && f.Date().Before(s.hip.Surgery):
		return study.Warning{Code: study.WarnDate}
	}
	return study.Warning{}
}

// draftOf returns the outlines of a saved measurement.
func draftOf(m study.Measurement) Draft {
	return Draft{Head: fitted(m.Head), Cup: fitted(m.Cup), CupKind: m.CupKind, Found: m.Warnings, Line: m.Line, Rim: m.Rim}
}

// Doubt says why no number of f is to be trusted yet, or "": a magnification that
// no hip has comes from a wrong head diameter or a wrong spacing.
func (s *Session) Doubt(f *Film) string {
	n := s.Numbers(f)
	_, doubtful := study.WarnMagnification(n.Magnification)
	if n.Err != nil || !n.HasMagnify || !doubtful {
		return ""
	}
	return doubtWords(n.Magnification, s.hip.Implant.HeadMM, f.ByHand())
}

// ByHand reports whether a hand has placed the head's outline.
func (f *Film) ByHand() bool { return f.Draft != nil && f.changed && f.Draft.Head.Hand }

// doubtWords says what an implausible magnification means; hand tells that the head's
// outline was placed by hand.
func doubtWords(m, headMM float64, hand bool) string {
	key := "doubt.magnification"
	if hand {
		key = "doubt.magnification-hand"
	}
	return say(key, "Head", headMM, "M", m, "Least", measure.LeastMagnification, "Most", measure.MostMagnification)
}

// LinerLeft estimates the liner's thickness where it is thinnest: the thickness
// when new less what the thinnest path has lost since the baseline film, which is
// taken to show the liner as new. It is for follow-ups of hips whose liner is known.
func (s *Session) LinerLeft(f *Film) (mm, se float64, ok bool) {
	liner := s.hip.Implant.LinerMM
	if liner == 0 || s.course.err != nil || s.course.IsBaseline(f) {
		return 0, 0, false
	}
	n := s.Numbers(f)
	if n.Err != nil {
		return 0, 0, false
	}
	for _, m := range s.course.trend.Films {
		if m.Film.ID == s.course.trend.Baseline.ID {
			r := m.Reading
			return liner - (r.Thinnest - n.Reading.Thinnest), math.Hypot(r.SEThinnest, n.Reading.SEThinnest), true
		}
	}
	return 0, 0, false
}
