package batch

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"linerwatch/app/study"
)

// Doubts says what an import brings that can hardly be true, line by line: films from before
// a surgery and after a death, a head that does not fit films as they are measured, and one
// patient under two spellings. p may be nil. The error
// is that of the study.
func (r Roll) Doubts(ctx context.Context, st study.Store, p *Filing) (list []string, err error) {
	days, early := p.days(r.Hips)
	for _, h := range r.Hips {
		events := r.eventsOf(h.ID)
		changed := slices.ContainsFunc(r.Entries.Hips, func(c study.Hip) bool { return c.ID == h.ID })
		if !changed && len(events) == 0 && len(days[h.ID])+len(early[h.ID]) == 0 {
			continue
		}
		there := days[h.ID]
		if h.Revision > 0 {
			films, err := st.Films(ctx, h.ID)
			if err != nil {
				return nil, err
			}
			for _, f := range films {
				there = append(there, f.Date())
			}
			had, err := st.Events(ctx, h.ID)
			if err != nil {
				return nil, err
			}
			events = append(had, events...)
		}
		if changed && h.Revision > 0 {
			sizes, err := misfits(ctx, st, h)
			if err != nil {
				return nil, err
			}
			list = append(list, sizes...)
		}
		list = append(list, before(h, there, early[h.ID])...)
		list = append(list, after(h, there, events)...)
	}
	return append(list, r.spellings(p)...), nil
}

// misfits tells of films on which the head of a hip, as it is to be, implies a magnification
// that cannot be: by what was read of them, or what the program proposes.
func misfits(ctx context.Context, st study.Store, h study.Hip) (list []string, err error) {
	r, err := st.Record(ctx, h.ID)
	if err != nil || r.Hip.Implant.HeadMM == h.Implant.HeadMM {
		return nil, err
	}
	was := r.Hip
	r.Hip = h
	for _, f := range r.Films {
		s := Searched{Hip: h, Film: f, Status: study.Measured}
		if g := r.Standing(f.ID, study.Anyone); g != nil {
			s.Warnings = g.Warnings
		} else {
			for _, d := range r.OutlinesOf(f.ID) {
				if m, ok := d.Measured(was, f); ok {
					s.Warnings = m.For(h).Warnings
				}
			}
		}
		if text := s.Told(); text != "" {
			list = append(list, text)
		}
	}
	return list, nil
}

// eventsOf are the events of a hip that are to be entered.
func (r Roll) eventsOf(hip string) (list []study.Event) {
	for i, e := range r.Events {
		if e.HipID == hip {
			e.ID = fmt.Sprint("new ", i) // the study has not given one yet
			list = append(list, e)
		}
	}
	return list
}

// days returns, by hip, the dates of films that go to it, and of those that wait since they are
// from before its surgery.
func (p *Filing) days(hips []study.Hip) (going, early map[string][]time.Time) {
	going, early = map[string][]time.Time{}, map[string][]time.Time{}
	if p == nil {
		return going, early
	}
	of := map[string][]study.Hip{}
	for _, h := range hips {
		of[h.Patient] = append(of[h.Patient], h)
	}
	for _, f := range p.films {
		for _, id := range f.hips {
			going[id] = append(going[id], f.Date())
		}
		if f.why.Code != "film.early" {
			continue
		}
		for _, h := range of[f.Facts.Patient] {
			if f.Kind().Fits(h.Kind()) {
				early[h.ID] = append(early[h.ID], f.Date())
			}
		}
	}
	return going, early
}

// before tells of films that a hip has from before its surgery, and of a surgery that is after
// all its films.
func before(h study.Hip, there, early []time.Time) []string {
	n := 0
	for _, d := range there {
		if !d.IsZero() && !h.Surgery.IsZero() && h.Years(d) < 0 {
			n++
		}
	}
	all := len(there) + len(early)
	if n == 0 && (len(early) == 0 || len(there) > 0) {
		return nil
	}
	return []string{fmt.Sprintf("%s: %d of its %s from before the surgery of %s: is its date right?",
		h.Label(), n+len(early), films(all), h.Surgery.Format(time.DateOnly))}
}

func films(n int) string {
	if n == 1 {
		return "1 film is"
	}
	return study.Count(n, "film") + " are"
}

// after tells of films from after the death of a hip's patient.
func after(h study.Hip, there []time.Time, events []study.Event) (list []string) {
	for _, e := range study.StandingEvents(events) {
		n, last := 0, e.Date
		for _, d := range there {
			if e.Kind == study.Died && d.After(e.Date.AddDate(0, 0, 1)) {
				n++
				if d.After(last) {
					last = d
				}
			}
		}
		if n > 0 {
			list = append(list, fmt.Sprintf("%s: %s from after the death on %s, the last of %s: is its date right?",
				h.Label(), films(n), e.Date.Format(time.DateOnly), last.Format(time.DateOnly)))
		}
	}
	return list
}

// spellings tells of patients that are new, or of whom there is no hip, and that another
// patient is spelled like but for case, spaces and hyphens.
func (r Roll) spellings(p *Filing) (list []string) {
	first := map[string]string{} // code by its plain form
	told := map[[2]string]bool{}
	like := func(code string) {
		was := first[plainCode(code)]
		if two := [2]string{was, code}; was != "" && was != code && !told[two] {
			told[two] = true
			list = append(list, fmt.Sprintf("Patients %s and %s are spelled alike: is one patient here under two codes?", was, code))
		}
	}
	for _, known := range []bool{true, false} {
		for _, h := range r.Hips {
			switch {
			case h.Patient == "" || (h.Revision > 0) != known:
			case first[plainCode(h.Patient)] == "":
				first[plainCode(h.Patient)] = h.Patient
			case !known:
				like(h.Patient)
			}
		}
	}
	if p != nil {
		for _, f := range p.films {
			if f.why.Code == "place.unknown" {
				like(f.Facts.Patient)
			}
		}
	}
	return list
}

// plainCode is a patient's code without case, spaces and marks.
func plainCode(code string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, code)
}
