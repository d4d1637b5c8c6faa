package study

import (
	"slices"
	"time"

	"linerwatch/assets/texts"
)

// Later reports whether a film is of a later series of the hip: from the day on which head,
// liner or cup was exchanged. The film of that very day is taken to show what the hip has
// since; one that was taken before is left out (Exclusion).
func (h Hip) Later(f Film) bool {
	return !h.Until.IsZero() && !f.Date().IsZero() && !midnight(f.Date()).Before(midnight(h.Until))
}

// exchanged is why a film of a later series cannot count.
func exchanged(h Hip, f Film) Note {
	return Note{Code: "film.exchanged", Values: texts.Values{"Date": dateText(f.Date()), "Until": dateText(h.Until)}}
}

// Series returns the record as one for each series of films, in order of time: that of the
// implant of the surgery, with the films that have no date, and one from each exchange of
// head or liner or revision of the cup. A later series counts its years from the exchange,
// with what the hip has since, its baseline is its earliest film, and it has no events.
func (r Record) Series() []Record {
	var ends []Event
	for _, e := range StandingEvents(r.Events) {
		if e.Kind.EndsSeries() {
			ends = append(ends, e)
		}
	}
	out := []Record{r.within(time.Time{}, r.Hip.Until)}
	h := r.Hip
	for i, e := range ends {
		h.Surgery, h.Implant, h.Baseline, h.Age = e.Date, h.Implant.Exchanged(e.Implant), "", 0
		if h.Until = (time.Time{}); i+1 < len(ends) {
			h.Until = ends[i+1].Date
		}
		next := r.within(e.Date, h.Until)
		next.Hip, next.Events = h, nil
		out = append(out, next)
	}
	return out
}

// SeriesRate is the rate of one of a hip's series.
type SeriesRate struct {
	No   int       // of the series, from 1
	From time.Time // of the exchange that began it; zero for the first
	Read int       // films that count
	Fit  *TrendFit // nil where there is none
	Why  Note      // there is none, or none with an interval
}

// laterRates are the rates of the series after the first, by the readings that a rule counts.
func (r Record) laterRates(rule Rule) (out []SeriesRate) {
	if r.Hip.Until.IsZero() {
		return nil
	}
	for i, s := range r.Series()[1:] {
		entries := s.Entries(rule)
		t, err := fitTrend(s.Hip, counting(entries))
		one := SeriesRate{No: i + 2, From: s.Hip.Surgery, Fit: t.Fit}
		for _, e := range entries {
			if e.State == FilmRead {
				one.Read++
			}
		}
		one.Why = whyNoRate(t, err, Summary{Films: len(s.Films), Read: one.Read})
		out = append(out, one)
	}
	return out
}

// Current returns the rate of the latest series of which a film counts, else of the first.
func (s Summary) Current() SeriesRate {
	now := SeriesRate{No: 1, Read: s.Read, Fit: s.Fit, Why: s.Why}
	for _, later := range s.Series {
		if later.Read > 0 {
			now = later
		}
	}
	return now
}

// within returns the record with the films from a day on and before another, zero for no
// such bound, and with what rests on them.
func (r Record) within(from, until time.Time) Record {
	in := map[string]bool{}
	for _, f := range r.Films {
		d := f.Date()
		in[f.ID] = d.IsZero() && from.IsZero() || !d.IsZero() && !midnight(d).Before(midnight(from)) && (until.IsZero() || midnight(d).Before(midnight(until)))
	}
	r.Films = kept(r.Films, func(f Film) bool { return in[f.ID] })
	r.Links = kept(r.Links, func(l Link) bool { return in[l.FilmID] })
	r.Readings = kept(r.Readings, func(g Reading) bool { return in[g.FilmID] })
	r.Exclusions = kept(r.Exclusions, func(e Exclusion) bool { return in[e.FilmID] })
	r.Grades = kept(r.Grades, func(g Grade) bool { return in[g.FilmID] })
	r.Unaccepted = kept(r.Unaccepted, func(d Draft) bool { return in[d.FilmID] })
	r.Drafts = len(kept(r.Unaccepted, func(d Draft) bool { return d.Kind == Edited }))
	return r
}

func kept[T any](list []T, is func(T) bool) []T {
	return slices.DeleteFunc(slices.Clone(list), func(v T) bool { return !is(v) })
}

// Exchanged returns the implant after an exchange: as it was, but for what is known of what
// was put in. Of a liner that was exchanged nothing of the old one is taken over that the
// new one is said to have otherwise.
func (m Implant) Exchanged(in Implant) Implant {
	take(&m.HeadMM, in.HeadMM)
	take(&m.HeadMaterial, in.HeadMaterial)
	take(&m.LinerMM, in.LinerMM)
	take(&m.PE, in.PE)
	take(&m.ShellMM, in.ShellMM)
	take(&m.Fixation, in.Fixation)
	take(&m.LinerInnerMM, in.LinerInnerMM)
	take(&m.LinerOuterMM, in.LinerOuterMM)
	take(&m.Irradiated, in.Irradiated)
	take(&m.DoseKGy, in.DoseKGy)
	take(&m.Stabiliser, in.Stabiliser)
	take(&m.Lipped, in.Lipped)
	take(&m.Catalogue, in.Catalogue)
	return m
}

func take[T comparable](to *T, v T) {
	if v != *new(T) {
		*to = v
	}
}
