package study

import "time"

// Places tells of which hips of a study films are, by patient and side as their files say.
type Places struct {
	Both bool // a film that states no side is one of both hips of its patient
	now  time.Time
	of   map[string][]Hip // by patient
}

// NewPlaces returns the places of films among hips, those of one site or, with "", of all;
// now is the present.
func NewPlaces(hips []Hip, site string, now time.Time) Places {
	p := Places{now: now, of: map[string][]Hip{}}
	for _, h := range hips {
		if h.Patient != "" && (site == "" || h.Site == site) {
			p.of[h.Patient] = append(p.of[h.Patient], h)
		}
	}
	return p
}

// Of returns the hips that a film is of, or why it is of none: nothing is said of its
// patient, what it says contradicts the hips, or it may be of more than one.
func (p Places) Of(f Film) (hips []Hip, why Note) {
	who := f.Facts.Patient
	all := p.of[who]
	switch {
	case who == "":
		return nil, Note{Code: "place.no-patient"}
	case len(all) == 0:
		return nil, Note{Code: "place.unknown", Values: Values{"Patient": who}}
	}
	for _, h := range all {
		if h.Site != all[0].Site {
			return nil, Note{Code: "place.sites", Values: Values{"Patient": who}}
		}
		if f.Kind().Fits(h.Kind()) {
			hips = append(hips, h)
		}
	}
	if len(hips) == 0 {
		return nil, Note{Code: "place.side", Values: Values{"Side": f.Side().String(), "Patient": who}}
	}
	if hips, why = p.dated(f, hips); !why.IsZero() || len(hips) == 1 {
		return hips, why
	}
	if len(hips) == 2 && hips[0].Side != hips[1].Side && hips[0].Side != SideUnknown && hips[1].Side != SideUnknown {
		if p.Both {
			return hips, Note{}
		}
		return nil, Note{Code: "place.sides", Values: Values{"Patient": who}}
	}
	return nil, Note{Code: "place.several", Values: Values{"N": float64(len(hips)), "Patient": who}}
}

// dated leaves the hips that had been operated on when the film was taken.
func (p Places) dated(f Film, hips []Hip) (out []Hip, why Note) {
	day := f.Date()
	if day.IsZero() {
		return hips, Note{}
	}
	if midnight(day).After(midnight(p.now)) {
		return nil, Note{Code: "place.future", Values: Values{"Date": dateText(day)}}
	}
	for _, h := range hips {
		if h.Surgery.IsZero() || h.Years(day) >= 0 {
			out = append(out, h)
		}
	}
	if len(out) == 0 {
		return nil, Note{Code: "film.early", Values: Values{"Date": dateText(day), "Surgery": dateText(hips[0].Surgery)}}
	}
	return out, Note{}
}
