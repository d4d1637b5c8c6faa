package study

import (
	"fmt"
	"strings"
	"time"
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
	mm := func(v float64) string {
		if v == 0 {
			return ""
		}
		return digits(v) + " mm"
	}
	date, start, base, beam := "", "", "the earliest film", "where it is known"
	if !h.Surgery.IsZero() {
		date = h.Surgery.Format(time.DateOnly)
	}
	if h.ID != "" || h.StartYears != 0 {
		start = "year " + digits(h.Start())
	}
	if h.Baseline != "" {
		base = film(h.Baseline)
	}
	if h.BeamOff {
		beam = "off"
	}
	m := h.Implant
	return []Difference{
		{Name: "patient", Now: h.Patient}, {Name: "group", Now: h.Group}, {Name: "side", Now: h.Side.String()},
		{Name: "date of surgery", Now: date}, {Name: "head diameter", Now: mm(m.HeadMM)},
		{Name: "head material", Now: Words(HeadMaterials(), m.HeadMaterial)}, {Name: "liner thickness", Now: mm(m.LinerMM)},
		{Name: "polyethylene", Now: Words(PEKinds(), m.PE)}, {Name: "shell", Now: mm(m.ShellMM)},
		{Name: "fixation", Now: Words(Fixations(), m.Fixation)}, {Name: "steady state from", Now: start},
		{Name: "baseline", Now: base}, {Name: "correction for the cone beam", Now: beam},
	}
}

// String says the difference in words: "head diameter 36 mm, was 28 mm".
func (d Difference) String() string {
	or := func(s string) string {
		if s == "" {
			return "not known"
		}
		return s
	}
	return fmt.Sprintf("%s %s, was %s", d.Name, or(d.Now), or(d.Was))
}

// Rests names what of a hip a reading rests on and that differs from the hip as it was
// before; empty where nothing does.
func (h Hip) Rests(before Hip) string {
	var out []string
	if h.Implant.HeadMM != before.Implant.HeadMM {
		out = append(out, "head diameter")
	}
	if h.Side != before.Side {
		out = append(out, "side")
	}
	if !midnight(h.Surgery).Equal(midnight(before.Surgery)) {
		out = append(out, "date of surgery")
	}
	if n := len(out); n > 2 {
		out = []string{strings.Join(out[:n-1], ", "), out[n-1]}
	}
	return strings.Join(out, " and ")
}
