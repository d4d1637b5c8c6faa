package report

import (
	"fmt"
	"strings"

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
}

func newHipRow(r study.Record, whose string) hipRow {
	t, err := r.Trend(whose)
	return hipRow{r, whose, r.Entries(whose), r.Summary(whose), t, err}
}

// alike returns a reading as the films of the hip are compared: for the hip as it is
// now and by the method of its trend.
func (h hipRow) alike(g study.Reading) study.Measurement {
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
func (h hipRow) moved(film study.FilmEntry, g study.Reading) (p study.Penetration, ok bool) {
	if h.err != nil || film.View() == study.Lateral {
		return p, false
	}
	if film.Counts(g.ID) {
		for _, q := range h.trend.Penetration {
			if q.Film.ID == g.FilmID {
				return q, true
			}
		}
	}
	return h.trend.Aside(g.For(h.Hip))
}

// fit returns a number of the steady-state fit, or nothing.
func (h hipRow) fit(get func(f *study.TrendFit) (v float64, ok bool)) string {
	if h.trend.Fit == nil {
		return ""
	}
	v, ok := get(h.trend.Fit)
	if !ok {
		return ""
	}
	return numberCell(v)
}

func hipCode(h hipRow) string { return h.Hip.ID }

var hipColumns = []exportColumn[hipRow]{
	{"hip_id", "code of the hip", "", aCode, hipCode},
	{"patient", "code of the patient, never a name", "", aCode, func(h hipRow) string { return textCell(h.Hip.Patient) }},
	{"group", "group of the study", "", aText, func(h hipRow) string { return textCell(h.Hip.Group) }},
	{"side", "side of the body", "", "right; left", func(h hipRow) string { return h.Hip.Side.String() }},
	{"surgery_date", "date of surgery", "", dateValues, func(h hipRow) string { return day(h.Hip.Surgery) }},
	{"head_mm", "diameter of the femoral head, by which all numbers here are computed", "mm", fmt.Sprintf("%d to %d", study.MinHeadMM, study.MaxHeadMM), func(h hipRow) string { return known(h.Hip.Implant.HeadMM) }},
	{"head_material", "material of the head", "", choices(study.HeadMaterials()), func(h hipRow) string { return h.Hip.Implant.HeadMaterial }},
	{"liner_mm", "thickness of the new liner", "mm", fmt.Sprintf("%d to %d", study.MinLinerMM, study.MaxLinerMM), func(h hipRow) string { return known(h.Hip.Implant.LinerMM) }},
	{"pe_type", "polyethylene of the liner", "", choices(study.PEKinds()), func(h hipRow) string { return h.Hip.Implant.PE }},
	{"shell_mm", "outer diameter of shell or cup", "mm", fmt.Sprintf("%d to %d", study.MinShellMM, study.MaxShellMM), func(h hipRow) string { return known(h.Hip.Implant.ShellMM) }},
	{"fixation", "how the cup is held in the bone", "", choices(study.Fixations()), func(h hipRow) string { return h.Hip.Implant.Fixation }},
	{"start_years", "films at or after this time since surgery count for the steady state", "years", anyNumber, func(h hipRow) string { return numberCell(h.Hip.Start()) }},
	{"readings_of", "whose readings count in this export", "", "code of a reader; latest for the latest reading of each film; first for the first; mean for the mean of readers; mean:CODE for that of a reader's occasions; adjudicated", func(h hipRow) string { return study.RuleCode(h.whose) }},
	{"readers", "everyone who read films of the hip", "", "codes joined by ;", func(h hipRow) string { return strings.Join(h.sum.Readers, ";") }},
	{"films", "films of the hip", "films", aCount, func(h hipRow) string { return wholeCell(h.sum.Films) }},
	{"films_read", "films that count", "films", aCount, func(h hipRow) string { return wholeCell(h.sum.Read) }},
	{"films_left_out", "films left out by a reader; the table of films says why", "films", aCount, func(h hipRow) string { return wholeCell(h.sum.LeftOut) }},
	{"films_unread", "films without a reading that counts", "films", aCount, func(h hipRow) string { return wholeCell(h.sum.Unread) }},
	{"films_no_result", "films whose reading holds no measurement", "films", aCount, func(h hipRow) string { return wholeCell(h.sum.NoResult) }},
	standing("films_draft", "of the unread ones, films with a reader's outlines that are not accepted", study.StandsDraft),
	standing("films_proposal", "of the unread ones, films with outlines of the program that nobody has accepted", study.StandsProposed),
	standing("films_not_found", "of the unread ones, films on which the program found nothing", study.StandsNotFound),
	standing("films_unreadable", "of the unread ones, films whose file could not be read", study.StandsUnreadable),
	{"first_film", "date of the earliest film", "", dateValues, func(h hipRow) string { return day(h.sum.First) }},
	{"last_film", "date of the latest film", "", dateValues, func(h hipRow) string { return day(h.sum.Last) }},
	{"baseline_film", "film that penetration counts from", "", "film_id", func(h hipRow) string { return h.trend.Baseline.ID }},
	{"followup_years", "from surgery to the latest film that counts", "years", anyNumber, func(h hipRow) string {
		if n := len(h.trend.Penetration); n > 0 {
			return numberCell(h.trend.Penetration[n-1].Years)
		}
		return ""
	}},
	{"beam_corrected", "all readings corrected for the cone beam", "", yesValues, func(h hipRow) string { return onlyWithTrend(h, h.trend.Method.Beam) }},
	{"line_used", "superior taken from reference lines, not from the films' rows", "", yesValues, func(h hipRow) string { return onlyWithTrend(h, h.trend.Method.Line) }},
	{"films_in_line", "films that the steady-state line is fitted to", "films", aCount, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return float64(f.Line.N), true })
	}},
	{"rate_mm_per_year", "steady-state rate of superior penetration: slope of the line", "mm/year", anyNumber, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return f.Rate, true })
	}},
	{"se_rate", "standard error of the rate", "mm/year", anyNumber, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return f.SE, f.HasInterval })
	}},
	{"rate_lo95", "lower end of its 95 % interval; how it comes from standard errors stands at lo95 of the table of fits", "mm/year", anyNumber, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return f.Lo95, f.HasInterval })
	}},
	{"rate_hi95", "upper end of its 95 % interval", "mm/year", anyNumber, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return f.Hi95, f.HasInterval })
	}},
	{"interval_from", "what the interval is made of", "", "fit scatter of three or more films about the line; readings standard errors of two readings", func(h hipRow) string {
		if h.trend.Fit == nil || !h.trend.Fit.HasInterval {
			return ""
		}
		return h.trend.Fit.IntervalFrom
	}},
	{"bedding_in_mm", "bedding-in: the line at surgery", "mm", anyNumber, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return f.BeddingIn, f.HasBedding })
	}},
	{"bedding_lo95", "lower end of its 95 % interval, with the error of the baseline film", "mm", anyNumber, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return f.BeddingLo95, f.HasBedding && f.HasInterval })
	}},
	{"bedding_hi95", "upper end of its 95 % interval, as bedding_lo95", "mm", anyNumber, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return f.BeddingHi95, f.HasBedding && f.HasInterval })
	}},
	{"first_to_last_mm_per_year", "difference of the first and the last film in the line over the time between", "mm/year", anyNumber, func(h hipRow) string {
		return h.fit(func(f *study.TrendFit) (float64, bool) { return f.FirstToLast, f.HasFirstToLast })
	}},
	{"no_rate_reason", "why there is no rate or no interval", "", aText, func(h hipRow) string { return textCell(study.NoteWords(h.sum.Why)) }},
	{"state", "how far the work on the hip is", "", statesOfHips(), func(h hipRow) string { return string(h.sum.State) }},
	{"to_settle", "what is to be decided before the hip can be read or its rate trusted", "", "texts joined by ;", func(h hipRow) string { return joined(h.sum.Attention, ";") }},
	{"doubts", "what the numbers rest on and should not, as readers accepted it", "", "texts joined by ;", func(h hipRow) string { return joined(h.sum.Doubts, ";") }},
	{"not_known", "what is not known or not there", "", "texts joined by ;", func(h hipRow) string { return joined(h.sum.Missing, ";") }},
}

// standing counts films of the hip that stand so.
func standing(name, meaning string, stands study.FilmStanding) exportColumn[hipRow] {
	return exportColumn[hipRow]{name, meaning, "films", aCount, func(h hipRow) string {
		n := 0
		for _, e := range h.entries {
			if s, _ := h.StandingOf(e); s == stands {
				n++
			}
		}
		return wholeCell(n)
	}}
}

func onlyWithTrend(h hipRow, b bool) string {
	if h.err != nil {
		return ""
	}
	return yes(b)
}

// statesOfHips lists the states of hips for the codebook.
func statesOfHips() string {
	var out []string
	for _, s := range study.HipStates() {
		out = append(out, string(s))
	}
	return strings.Join(out, "; ")
}
