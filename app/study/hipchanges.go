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
	a, b := details(before, film), details(h, film)
	var out []Difference
	for i := range a {
		if a[i].Now != b[i].Now {
			out = append(out, Difference{b[i].Name, a[i].Now, b[i].Now})
		}
	}
	return out
}

// details are the details of a hip in words.
func details(h Hip, film func(id string) string) []Difference {
	mm := func(v float64) string { return unlessZero(v, " mm") }
	date, start, base, beam := "", "", texts.Say("baseline.earliest", nil), texts.Say("beam.where-known", nil)
	if !h.Surgery.IsZero() {
		date = h.Surgery.Format(time.DateOnly)
	}
	if h.ID != "" || h.StartYears != 0 {
		start = texts.Say("start.year", texts.Values{"Years": h.Start()})
	}
	if h.Baseline != "" {
		base = film(h.Baseline)
	}
	if h.BeamOff {
		beam = texts.Say("beam.off", nil)
	}
	m := h.Implant
	return []Difference{
		{Name: texts.Say("detail.patient", nil), Now: h.Patient}, {Name: texts.Say("detail.group", nil), Now: h.Group}, {Name: texts.Say("detail.side", nil), Now: h.Side.String()},
		{Name: texts.Say("detail.surgery", nil), Now: date}, {Name: texts.Say("detail.head", nil), Now: mm(m.HeadMM)},
		{Name: texts.Say("detail.material", nil), Now: Words(HeadMaterials(), m.HeadMaterial)}, {Name: texts.Say("detail.liner", nil), Now: mm(m.LinerMM)},
		{Name: texts.Say("detail.polyethylene", nil), Now: Words(PEKinds(), m.PE)}, {Name: texts.Say("detail.shell", nil), Now: mm(m.ShellMM)},
		{Name: texts.Say("detail.fixation", nil), Now: Words(Fixations(), m.Fixation)}, {Name: texts.Say("detail.start", nil), Now: start},
		{Name: texts.Say("detail.baseline", nil), Now: base}, {Name: texts.Say("detail.beam", nil), Now: beam},
		{Name: texts.Say("detail.site", nil), Now: h.Site}, {Name: texts.Say("detail.age", nil), Now: unlessZero(h.Age, "")},
		{Name: texts.Say("detail.liner-inside", nil), Now: mm(m.LinerInnerMM)}, {Name: texts.Say("detail.liner-outside", nil), Now: mm(m.LinerOuterMM)},
		{Name: texts.Say("detail.irradiated", nil), Now: Words(Answers(), string(m.Irradiated))}, {Name: texts.Say("detail.dose", nil), Now: unlessZero(m.DoseKGy, " kGy")},
		{Name: texts.Say("detail.stabiliser", nil), Now: Words(Stabilisers(), m.Stabiliser)}, {Name: texts.Say("detail.lip", nil), Now: Words(Answers(), string(m.Lipped))},
		{Name: texts.Say("detail.catalogue", nil), Now: m.Catalogue},
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
func (d Difference) String() string {
	return texts.Say("change.detail", texts.Values{"Name": d.Name, "Now": d.Now, "Was": d.Was})
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
