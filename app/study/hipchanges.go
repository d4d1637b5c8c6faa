package study

import (
	"time"

	"linerwatch/assets/texts"
)

// Difference is a detail of a hip that was changed, in words; one that is not known is
// empty.
type Difference struct{ Name, Was, Now string }

// Since returns what differs from the hip as it was before, in the order of the form.
// Films are named by film.
func (h Hip) Since(before Hip, film func(id string) string) []Difference {
	return h.SinceIn(texts.Say, before, film)
}

// SinceIn is Since in the language of say.
func (h Hip) SinceIn(say Say, before Hip, film func(id string) string) []Difference {
	a, b := details(say, before, film), details(say, h, film)
	var out []Difference
	for i := range a {
		if a[i].Now != b[i].Now {
			out = append(out, Difference{b[i].Name, a[i].Now, b[i].Now})
		}
	}
	return out
}

// details are the details of a hip in words.
func details(say Say, h Hip, film func(id string) string) []Difference {
	mm := func(v float64) string { return unlessZero(v, " mm") }
	date, start, base, beam := "", "", say("baseline.earliest", nil), say("beam.where-known", nil)
	if !h.Surgery.IsZero() {
		date = h.Surgery.Format(time.DateOnly)
	}
	if h.ID != "" || h.StartYears != 0 {
		start = say("start.year", texts.Values{"Years": h.Start()})
	}
	if h.Baseline != "" {
		base = film(h.Baseline)
	}
	if h.BeamOff {
		beam = say("beam.off", nil)
	}
	m := h.Implant
	return []Difference{
		{Name: say("detail.patient", nil), Now: h.Patient}, {Name: say("detail.group", nil), Now: h.Group}, {Name: say("detail.side", nil), Now: h.Side.String()},
		{Name: say("detail.surgery", nil), Now: date}, {Name: say("detail.head", nil), Now: mm(m.HeadMM)},
		{Name: say("detail.material", nil), Now: ChoiceIn(say, "material", m.HeadMaterial)}, {Name: say("detail.liner", nil), Now: mm(m.LinerMM)},
		{Name: say("detail.polyethylene", nil), Now: ChoiceIn(say, "polyethylene", m.PE)}, {Name: say("detail.shell", nil), Now: mm(m.ShellMM)},
		{Name: say("detail.fixation", nil), Now: ChoiceIn(say, "fixation", m.Fixation)}, {Name: say("detail.start", nil), Now: start},
		{Name: say("detail.baseline", nil), Now: base}, {Name: say("detail.beam", nil), Now: beam},
		{Name: say("detail.site", nil), Now: h.Site}, {Name: say("detail.age", nil), Now: unlessZero(h.Age, "")},
		{Name: say("detail.liner-inside", nil), Now: mm(m.LinerInnerMM)}, {Name: say("detail.liner-outside", nil), Now: mm(m.LinerOuterMM)},
		{Name: say("detail.irradiated", nil), Now: ChoiceIn(say, "answer", string(m.Irradiated))}, {Name: say("detail.dose", nil), Now: unlessZero(m.DoseKGy, " kGy")},
		{Name: say("detail.stabiliser", nil), Now: ChoiceIn(say, "stabiliser", m.Stabiliser)}, {Name: say("detail.lip", nil), Now: ChoiceIn(say, "answer", string(m.Lipped))},
		{Name: say("detail.catalogue", nil), Now: m.Catalogue},
	}
}

// unlessZero writes a number with its unit, nothing where it is not known.
func unlessZero(v float64, unit string) string {
	if v == 0 {
		return ""
	}
	return digits(v) + unit
}

// String says the difference in words: "head diameter 36 mm, was 28 mm".
func (d Difference) String() string { return d.In(texts.Say) }

// In is String in the language of say, as the details are.
func (d Difference) In(say Say) string {
	return say("change.detail", texts.Values{"Name": d.Name, "Now": d.Now, "Was": d.Was})
}

// Rests names what of a hip a reading rests on and that differs from the hip as it was
// before; nothing where nothing does.
func (h Hip) Rests(before Hip) Note {
	var out []Note
	if h.Implant.HeadMM != before.Implant.HeadMM {
		out = append(out, Note{Code: "detail.head"})
	}
	if h.Side != before.Side {
		out = append(out, Note{Code: "detail.side"})
	}
	if !midnight(h.Surgery).Equal(midnight(before.Surgery)) {
		out = append(out, Note{Code: "detail.surgery"})
	}
	switch len(out) {
	case 0:
		return Note{}
	case 1:
		return out[0]
	case 2:
		return Note{Code: "list.two", Values: texts.Values{"One": out[0], "Two": out[1]}}
	}
	return Note{Code: "list.three", Values: texts.Values{"One": out[0], "Two": out[1], "Three": out[2]}}
}
