package dataset

import (
	"strings"
	"time"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// hipRow is a hip with what was worked out of it once.
type hipRow struct {
	study.Record
	whose   string
	entries []study.FilmEntry
	sum     study.Summary
	trend   study.Trend
	err     error
	series  int       // which of the hip's series of films this is, from 1
	later   []*hipRow // the series after it, each from an exchange; of the first alone
}

func newHipRow(r study.Record, whose string) *hipRow {
	w := r.Work(whose)
	h := &hipRow{Record: r, whose: whose, entries: w.Entries, sum: w.Summary, trend: w.Trend, err: w.Err, series: 1}
	if r.Hip.Until.IsZero() {
		return h
	}
	for _, s := range r.Series()[1:] { // which have no events, and so none after them
		one := newHipRow(s, whose)
		one.series = len(h.later) + 2
		h.later = append(h.later, one)
	}
	return h
}

// seriesOf returns the series that a film is of, with its entry there.
func (h *hipRow) seriesOf(filmID string) (*hipRow, study.FilmEntry) {
	for _, s := range append(h.later[:len(h.later):len(h.later)], h) {
		for _, e := range s.entries {
			if e.ID == filmID {
				return s, e
			}
		}
	}
	return h, study.FilmEntry{}
}

func (h *hipRow) of() *hipRow { return h }

// years writes how long after surgery a day was, nothing where one of both is not known.
func (h *hipRow) years(date time.Time) string {
	if date.IsZero() || h.Hip.Surgery.IsZero() {
		return ""
	}
	return numberCell(h.Hip.Years(date))
}

// alike returns a reading as the films of the hip are compared: for the hip as it is
// now and by the method of its trend.
func (h *hipRow) alike(g study.Reading) study.Measurement {
	m := g.For(h.Hip)
	if h.err != nil || m.Status != study.Measured {
		return m
	}
	if now, ok := m.By(h.trend.Method); ok {
		return now
	}
	return m
}

// moved returns the penetration of a reading of a film since the baseline film. One that does not
// count has one too, where its film has a date and it was measured.
func (h *hipRow) moved(film study.FilmEntry, g study.Reading) (p study.Penetration, ok bool) {
	if h.err != nil || film.View() == study.Lateral {
		return p, false
	}
	if film.Reading != nil && film.Reading.ID == g.ID { // not one of those that a mean is of
		for _, q := range h.trend.Penetration {
			if q.Film.ID == g.FilmID {
				return q, true
			}
		}
	}
	return h.trend.Aside(g.For(h.Hip))
}

// fit returns a number of the steady-state fit, or nothing.
func (h *hipRow) fit(get func(f *study.TrendFit) (v float64, ok bool)) string {
	if h.trend.Fit == nil {
		return ""
	}
	v, ok := get(h.trend.Fit)
	if !ok {
		return ""
	}
	return numberCell(v)
}

func hipColumns() []column[*hipRow] {
	return []column[*hipRow]{
		{"surgery_date", "date of surgery", "", "", aDay, func(h *hipRow) string { return day(h.Hip.Surgery) }},
		{"head_mm", "diameter of the femoral head", "all numbers here are computed by it", "mm", aNumber.from(study.MinHeadMM).to(study.MaxHeadMM), func(h *hipRow) string { return known(h.Hip.Implant.HeadMM) }},
		{"head_material", "material of the head", "", "", oneOf(study.HeadMaterials()), func(h *hipRow) string { return h.Hip.Implant.HeadMaterial }},
		{"liner_mm", "thickness of the new liner", "", "mm", aNumber.from(study.MinLinerMM).to(study.MaxLinerMM), func(h *hipRow) string { return known(h.Hip.Implant.LinerMM) }},
		{"pe_type", "polyethylene of the liner", "", "", oneOf(study.PEKinds()), func(h *hipRow) string { return h.Hip.Implant.PE }},
		{"shell_mm", "outer diameter of shell or cup", "", "mm", aNumber.from(study.MinShellMM).to(study.MaxShellMM), func(h *hipRow) string { return known(h.Hip.Implant.ShellMM) }},
		{"fixation", "how the cup is held in the bone", "", "", oneOf(study.Fixations()), func(h *hipRow) string { return h.Hip.Implant.Fixation }},
		{"liner_inner_mm", "inner diameter of the liner", "", "mm", aNumber, func(h *hipRow) string { return known(h.Hip.Implant.LinerInnerMM) }},
		{"liner_outer_mm", "outer diameter of the liner", "", "mm", aNumber, func(h *hipRow) string { return known(h.Hip.Implant.LinerOuterMM) }},
		{"irradiated", "the polyethylene was irradiated", "", "", yesNo, func(h *hipRow) string { return answer(h.Hip.Implant.Irradiated) }},
		{"dose_kgy", "dose of irradiation", "", "kGy", aNumber.from(0), func(h *hipRow) string { return known(h.Hip.Implant.DoseKGy) }},
		{"stabiliser", "what keeps the polyethylene from oxidation", "", "", oneOf(study.Stabilisers()), func(h *hipRow) string { return h.Hip.Implant.Stabiliser }},
		{"lipped", "the liner has a lip", "", "", yesNo, func(h *hipRow) string { return answer(h.Hip.Implant.Lipped) }},
		{"catalogue", "the maker's text", "", "", freeText, func(h *hipRow) string { return oneLine(h.Hip.Implant.Catalogue) }},
		{"age", "age at surgery", "", "years", kind{of: "number", tells: anAge}.from(0), func(h *hipRow) string { return known(h.Hip.Age) }},
		{"series_end_date", "date of the event that ends the series of films", "head, liner or cup were exchanged", "", aDay, func(h *hipRow) string { return day(h.Hip.Until) }},
		{"start_years", "start of the steady state since surgery", "films at or after it count for the rate", "years", aNumber, func(h *hipRow) string { return numberCell(h.Hip.Start()) }},
		{"readings_of", "whose readings count in this export", rules(), "", aReader, func(h *hipRow) string { return report.WhoseCode(h.whose) }},
		{"readers", "everyone who read films of the hip", "codes joined by ;", "", aReader, func(h *hipRow) string { return strings.Join(h.sum.Readers, ";") }},
		{"films", "films of the hip", "", "films", aCount, func(h *hipRow) string { return wholeCell(h.sum.Films) }},
		{"films_read", "films that count", "", "films", aCount, func(h *hipRow) string { return wholeCell(h.sum.Read) }},
		{"films_left_out", "films left out by a reader", "the table of films says why", "films", aCount, func(h *hipRow) string { return wholeCell(h.sum.LeftOut) }},
		{"films_unread", "films without a reading that counts", "", "films", aCount, func(h *hipRow) string { return wholeCell(h.sum.Unread) }},
		{"films_no_result", "films whose reading holds no measurement", "", "films", aCount, func(h *hipRow) string { return wholeCell(h.sum.NoResult) }},
		standing("films_draft", "unread films with a reader's outlines that are not accepted", study.StandsDraft),
		standing("films_proposal", "unread films with outlines of the program that nobody has accepted", study.StandsProposed),
		standing("films_not_found", "unread films on which the program found nothing", study.StandsNotFound),
		standing("films_unreadable", "unread films whose file could not be read", study.StandsUnreadable),
		{"first_film", "date of the earliest film", "", "", aDay, func(h *hipRow) string { return day(h.sum.First) }},
		{"last_film", "date of the latest film", "", "", aDay, func(h *hipRow) string { return day(h.sum.Last) }},
		{"baseline_film", "film that penetration counts from", "", "", aFilm, func(h *hipRow) string { return h.trend.Baseline.ID }},
		{"followup_years", "from surgery to the latest film that counts", "", "years", aNumber, func(h *hipRow) string {
			if n := len(h.trend.Penetration); n > 0 {
				return numberCell(h.trend.Penetration[n-1].Years)
			}
			return ""
		}},
		{"beam_corrected", "all readings corrected for the cone beam", "", "", yesNo, func(h *hipRow) string { return onlyWithTrend(h, h.trend.Method.Beam) }},
		{"line_used", "superior taken from reference lines, not from the films' rows", "", "", yesNo, func(h *hipRow) string { return onlyWithTrend(h, h.trend.Method.Line) }},
		{"films_in_line", "films that the steady-state line is fitted to", "", "films", aCount, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return float64(f.Line.N), true })
		}},
		{"rate_mm_per_year", "steady-state rate of superior penetration", "slope of the line", "mm/year", aNumber, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return f.Rate, true })
		}},
		{"se_rate", "standard error of the rate", "", "mm/year", aNumber, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return f.SE, f.HasInterval })
		}},
		{"rate_lo95", "lower end of the 95 % interval of the rate", "how it comes from standard errors stands at lo95 of the table of fits", "mm/year", aNumber, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return f.Lo95, f.HasInterval })
		}},
		{"rate_hi95", "upper end of the 95 % interval of the rate", "", "mm/year", aNumber, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return f.Hi95, f.HasInterval })
		}},
		{"interval_from", "what the interval is made of", "", "", oneOf(intervalChoices()), func(h *hipRow) string {
			if h.trend.Fit == nil || !h.trend.Fit.HasInterval {
				return ""
			}
			return h.trend.Fit.IntervalFrom
		}},
		{"bedding_in_mm", "bedding-in", "the line at surgery", "mm", aNumber, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return f.BeddingIn, f.HasBedding })
		}},
		{"bedding_lo95", "lower end of the 95 % interval of bedding_in_mm", "with the error of the baseline film", "mm", aNumber, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return f.BeddingLo95, f.HasBedding && f.HasInterval })
		}},
		{"bedding_hi95", "upper end of the 95 % interval of bedding_in_mm", "as bedding_lo95", "mm", aNumber, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return f.BeddingHi95, f.HasBedding && f.HasInterval })
		}},
		{"first_to_last_mm_per_year", "first-to-last rate", "difference of the first and the last film in the line over the time between", "mm/year", aNumber, func(h *hipRow) string {
			return h.fit(func(f *study.TrendFit) (float64, bool) { return f.FirstToLast, f.HasFirstToLast })
		}},
		{"no_rate_reason", "why there is no rate or no interval", "", "", words, func(h *hipRow) string { return oneLine(study.NoteWords(h.sum.Why)) }},
		{"state", "how far the work on the hip is", "", "", oneOf(hipStateChoices()), func(h *hipRow) string { return string(h.sum.State) }},
		{"to_settle", "what is to be decided before the hip can be read or trusted", "texts joined by ;", "", words, func(h *hipRow) string { return joinedWords(h.sum.Attention, ";") }},
		{"doubts", "what the numbers rest on and should not", "as readers accepted it; texts joined by ;", "", words, func(h *hipRow) string { return joinedWords(h.sum.Doubts, ";") }},
		{"not_known", "what is not known or not there", "texts joined by ;", "", words, func(h *hipRow) string { return joinedWords(h.sum.Missing, ";") }},
	}
}

// rules says which there are.
func rules() string {
	out := []string{"code of a reader for that reader's readings"}
	for _, rule := range []study.Rule{study.Anyone, study.RuleFirst, study.RuleMean, study.RuleAdjudicated} {
		out = append(out, report.WhoseCode(rule)+" for "+study.RuleWords(rule))
	}
	return strings.Join(append(out, "mean: and a code for the mean of that reader's occasions"), "; ")
}

// standing counts films of the hip that stand so.
func standing(name, label string, stands study.FilmStanding) column[*hipRow] {
	return column[*hipRow]{name, label, "", "films", aCount, func(h *hipRow) string {
		n := 0
		for _, e := range h.entries {
			if s, _ := h.StandingOf(e); s == stands {
				n++
			}
		}
		return wholeCell(n)
	}}
}

func answer(a study.Answer) string {
	if a == "" {
		return ""
	}
	return yes(a == study.Yes)
}

func onlyWithTrend(h *hipRow, b bool) string {
	if h.err != nil {
		return ""
	}
	return yes(b)
}

func hipStateChoices() (out []study.Choice) {
	for _, s := range study.HipStates() {
		out = append(out, study.Choice{Code: string(s)})
	}
	return out
}

func intervalChoices() []study.Choice {
	return []study.Choice{{Code: study.FromFit, Words: "scatter of three or more films about the line"}, {Code: study.FromReadings, Words: "standard errors of two readings"}}
}
