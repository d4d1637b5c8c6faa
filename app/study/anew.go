package study

import "linerwatch/assets/texts"

// For returns the measurement as it counts for a hip. One that was made with another
// head diameter, side or beam than hip and film have now is read again from its
// outlines, by its own method (OneMethod makes that the same for all films); a lateral
// one always is, since its axes are not kept with it. Where the outlines do not allow it,
// nothing is left of the reading: Status is then Refused, and Reason says why. Whatever
// was read before, m itself stays as it is.
func (m Measurement) For(h Hip) Measurement {
	why := m.outdated(h)
	if why.IsZero() {
		return m
	}
	now := m
	if h.Implant.HeadMM > 0 {
		now.HeadMM = h.Implant.HeadMM
	}
	if h.Side != SideUnknown {
		now.Side = h.Side
	}
	now, err := now.Read(m.How)
	if err != nil {
		m.Status, m.Reading = Refused, Result{}
		m.Reason = Note{Code: "reading.outdated", Values: texts.Values{"With": why, "Why": NoteOf(err)}}
		return m
	}
	now.Warnings = now.recheck(h)
	return now
}

// outdated says what a measurement rests on that does not hold any more for its hip;
// nothing where all does.
func (m Measurement) outdated(h Hip) Note {
	lateral := m.Film.View() == Lateral
	switch {
	case m.Status != Measured:
		return Note{}
	case h.Implant.HeadMM > 0 && m.HeadMM != h.Implant.HeadMM:
		return Note{Code: "outdated.head", Values: texts.Values{"MM": m.HeadMM}}
	case h.Side != SideUnknown && m.Side != h.Side && !lateral:
		return Note{Code: "outdated.side", Values: texts.Values{"Side": m.Side.String()}}
	case lateral && m.Head.R > 0 && m.Cup.R > 0:
		return Note{Code: "outdated.axes"}
	}
	if _, _, now := m.Film.Beam(); m.How.Beam && now.Reason.IsZero() && (now.SourceMM != m.Beam.SourceMM || now.Center != m.Beam.Center) {
		return Note{Code: "outdated.beam"}
	}
	return Note{}
}

// recheck returns the warnings of a measurement that was read again, those about head
// and side as they hold now.
func (m Measurement) recheck(h Hip) []Warning {
	var out []Warning
	for _, w := range m.Warnings {
		if w.Code != WarnMagnified && w.Code != WarnSide {
			out = append(out, w)
		}
	}
	if f := m.Film.Facts; f.SpacingMM > 0 && m.Reading.Scale > 0 {
		if w, doubtful := WarnMagnification(f.SpacingMM / m.Reading.Scale); doubtful {
			out = append(out, w)
		}
	}
	if tag := m.Film.Side(); tag != SideUnknown && h.Side != SideUnknown && tag != h.Side {
		out = append(out, WarnTag(tag, h.Side))
	}
	return Unique(out)
}

// By returns the measurement as a method reads it, a lateral one without a line; ok is
// false where its outlines do not allow that.
func (m Measurement) By(how Method) (_ Measurement, ok bool) {
	how.Line = how.Line && m.Film.View() != Lateral
	if m.readBy(how) {
		return m, true
	}
	r, err := m.Read(how)
	return r, err == nil && r.readBy(how)
}
