package dataset

import (
	"math"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// filmRow is a film of a hip; number counts from 1 in date order.
type filmRow struct {
	*hipRow
	film   study.FilmEntry
	number int
	stands study.FilmStanding
	why    study.Note // it stands so
	lacks  string     // whether its file is missing
}

var filmStates = map[study.FilmState]string{
	study.FilmRead: "read", study.FilmExcluded: "left-out", study.FilmUnread: "unread", study.FilmRefused: "no-result", study.FilmLater: "later-series",
}

func filmStateChoices() []study.Choice {
	return []study.Choice{{Code: "read", Words: "a reading counts"}, {Code: "left-out", Words: "a reader left it out"},
		{Code: "unread", Words: "no reading of the reader who counts"}, {Code: "no-result", Words: "the reading holds no measurement"},
		{Code: "later-series", Words: "a reading counts of a film from after an exchange, which is of a series of its own"}}
}

func (f *filmRow) id() string { return f.film.ID }

// moved returns the penetration of the film since the baseline film, where it is one of the
// trend's: a table of films is fitted as it is. Readings of films that are left out have
// theirs in the table of penetrations.
func (f *filmRow) moved() (p study.Penetration, ok bool) {
	if f.film.Reading == nil || f.film.State != study.FilmRead {
		return p, false
	}
	return f.hipRow.moved(f.film, *f.film.Reading)
}

// counted returns a number of the reading that counts, as the trend has it.
func (f *filmRow) counted(get func(m study.Measurement) float64) string {
	for _, list := range [2][]study.Measurement{f.trend.Films, f.trend.Lateral} {
		for i := range list { // large values
			if m := &list[i]; f.err == nil && m.Film.ID == f.film.ID && m.Status == study.Measured {
				return numberCell(get(*m))
			}
		}
	}
	return ""
}

// parts are the readings that count for the film: one, or those that the rule takes the mean of.
func (f *filmRow) parts() (out []study.Reading) {
	for _, g := range f.Readings {
		if f.film.Counts(g.ID) && g.FilmID == f.film.ID {
			out = append(out, g)
		}
	}
	return out
}

// told joins what the readings that count have, each once.
func (f *filmRow) told(get func(g study.Reading) string) string {
	var out []string
	for _, g := range f.parts() {
		if v := get(g); v != "" && !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return strings.Join(out, ";")
}

func (f *filmRow) penetration(get func(p study.Penetration) float64) string {
	p, ok := f.moved()
	if !ok {
		return ""
	}
	return numberCell(get(p))
}

func (f *filmRow) left(get func(e *study.Exclusion) string) string {
	if f.film.Exclusion == nil {
		return ""
	}
	return get(f.film.Exclusion)
}

func filmColumns() []column[*filmRow] {
	return []column[*filmRow]{
		{"film_id", "code of the film in the study", "a film of two hips has a row for each; F and a number, or the SHA-256 of its file where an earlier version of the program took it in", "", aFilm, func(f *filmRow) string { return f.film.ID }},
		{"film_no", "place of the film in date order", "", "", aCount.from(1), func(f *filmRow) string { return wholeCell(f.number) }},
		{"series", "which of the hip's series the film is of", seriesHow + "; penetration here is of the first alone, the table of fits has each", "", aCount.from(1), func(f *filmRow) string {
			part, _ := f.seriesOf(f.film.ID)
			return wholeCell(part.series)
		}},
		filmStatus(func(f *filmRow) study.FilmStanding { return f.stands }),
		{"status_reason", "why nothing was found or measured", "", "", words, func(f *filmRow) string { return oneLine(study.NoteWords(f.why)) }},
		{"draft", "outlines on the film that nobody has accepted", "they may lie over an accepted reading", "", oneOf(drafts()), func(f *filmRow) string {
			if _, edited := f.draft(study.Edited); edited {
				return draftWord(study.Edited)
			}
			if _, there := f.draft(study.Proposed); there {
				return draftWord(study.Proposed)
			}
			return "none"
		}},
		fileMissing(func(f *filmRow) string { return f.lacks }),
		{"file_patient", "patient as the file says", "", "", aName, func(f *filmRow) string { return oneLine(f.film.Facts.Patient) }},
		{"file_side", "side as the file says", "", "", sides(), func(f *filmRow) string { return f.film.Facts.Side.String() }},
		{"film_date", "date of the film", "", "", aDay, func(f *filmRow) string { return day(f.film.Date()) }},
		{"years", "from surgery to the film, in years of 365.25 days", "", "years", aNumber, func(f *filmRow) string { return f.years(f.film.Date()) }},
		{"view", "view of the film", "", "", oneOf(views()), func(f *filmRow) string { return string(f.film.View()) }},
		{"width_px", "columns of the film", "", "px", aCount, func(f *filmRow) string { return known(float64(f.film.Facts.Width)) }},
		{"height_px", "rows of the film", "", "px", aCount, func(f *filmRow) string { return known(float64(f.film.Facts.Height)) }},
		{"spacing_mm", "spacing of pixels at the detector as the file says", "", "mm/px", aNumber, func(f *filmRow) string { return known(f.film.Facts.SpacingMM) }},
		{"spacing_kind", "which statement of the file that is", "", "", aWord, func(f *filmRow) string { return oneLine(f.film.Facts.SpacingKind) }},
		{"state", "how the film stands for the reader whose readings count", "", "", oneOf(filmStateChoices()), func(f *filmRow) string { return filmStates[f.film.State] }},
		{"left_out_code", "why the film was left out", "", "", oneOf(exclusions()), func(f *filmRow) string { return f.left(func(e *study.Exclusion) string { return e.Code }) }},
		{"left_out_note", "what the reader added", "", "", freeText, func(f *filmRow) string { return f.left(func(e *study.Exclusion) string { return oneLine(e.Note) }) }},
		{"left_out_by", "reader who left it out", "", "", aReader, func(f *filmRow) string { return f.left(func(e *study.Exclusion) string { return e.Reader }) }},
		{"left_out_at", "when it was left out, in UTC", "", "", aMoment, func(f *filmRow) string { return f.left(func(e *study.Exclusion) string { return when(e.At) }) }},
		{"quality", "how good its reader found the film for measuring", "", "", oneOf(study.Qualities()), func(f *filmRow) string { return f.quality(func(g study.Grade) string { return g.Quality }) }},
		{"quality_reason", "why it is less than good", "", "", oneOf(study.GradeReasons()), func(f *filmRow) string { return f.quality(func(g study.Grade) string { return g.Reason }) }},
		{"readings", "readings of the film, of all readers, withdrawn ones among them", "", "readings", aCount, func(f *filmRow) string { return wholeCell(f.film.Readings) }},
		{"reading_id", "the reading that counts, or would if the film were not left out", "joined by ; where the rule takes the mean of several", "", aReading, func(f *filmRow) string {
			return f.told(func(g study.Reading) string { return g.ID })
		}},
		{"reader", "who read it", "codes joined by ;", "", aReader, func(f *filmRow) string {
			return f.told(func(g study.Reading) string { return g.Reader })
		}},
		{"readings_averaged", "readings that the numbers are the mean of", "each reader weighs the same; 1 for a reading itself", "readings", aCount, func(f *filmRow) string { return wholeCell(len(f.parts())) }},
		{"adjudicated", "the reading that counts is of an adjudication", "", "", yesNo, func(f *filmRow) string {
			if f.film.Reading == nil {
				return ""
			}
			return yes(f.film.Reading.Listed.Kind == study.AdjudicateList)
		}},
		{"offset_superior_mm", "head centre from cup centre, superior, as it counts", "by the method of the hip's trend; on a lateral film towards the head end", "mm", aNumber.with("superior positive"), func(f *filmRow) string {
			return f.counted(func(m study.Measurement) float64 { return m.Reading.Offset.Superior })
		}},
		{"se_offset_superior_mm", "standard error of offset_superior_mm", "of a mean the root of the mean variance, since its readings share the film", "mm", aNumber, func(f *filmRow) string {
			return f.counted(func(m study.Measurement) float64 { se, _ := m.Reading.Offset.SE(); return se })
		}},
		{"offset_medial_mm", "head centre from cup centre, medial, as it counts", "on a lateral film anterior", "mm", aNumber.with("medial positive"), func(f *filmRow) string {
			return f.counted(func(m study.Measurement) float64 { return m.Reading.Offset.Medial })
		}},
		{"se_offset_medial_mm", "standard error of offset_medial_mm", "", "mm", aNumber, func(f *filmRow) string {
			return f.counted(func(m study.Measurement) float64 { _, se := m.Reading.Offset.SE(); return se })
		}},
		{"is_baseline", "penetration counts from this film", "", "", yesNo, func(f *filmRow) string { return yes(f.err == nil && f.trend.Baseline.ID == f.film.ID) }},
		{"in_line", "the film counts for the steady-state line", "", "", yesNo, func(f *filmRow) string {
			p, ok := f.moved()
			return yes(ok && p.InLine)
		}},
		{"penetration_superior_mm", "superior movement of the head since the baseline film", "of films whose reading counts", "mm", aNumber.with("superior positive"), func(f *filmRow) string {
			return f.penetration(func(p study.Penetration) float64 { return p.Vector.Superior })
		}},
		{"se_penetration_superior_mm", "standard error of penetration_superior_mm", "", "mm", aNumber, func(f *filmRow) string {
			return f.penetration(func(p study.Penetration) float64 { se, _ := p.SE(); return se })
		}},
		{"se_baseline_superior_mm", "part of se_penetration_superior_mm that is the baseline film's", "the same on all films of the hip", "mm", aNumber, func(f *filmRow) string {
			return f.penetration(func(study.Penetration) float64 { se, _ := f.trend.BaselineSE(); return se })
		}},
		{"se_scale", "relative standard error of the scale", "all films of the hip share it, and no other error here holds it", "", aNumber.from(0), func(f *filmRow) string {
			return f.penetration(func(study.Penetration) float64 { return f.trend.ScaleSE() })
		}},
		{"penetration_medial_mm", "medial movement of the head since the baseline film", "", "mm", aNumber.with("medial positive"), func(f *filmRow) string {
			return f.penetration(func(p study.Penetration) float64 { return p.Medial })
		}},
		{"se_penetration_medial_mm", "standard error of penetration_medial_mm", "", "mm", aNumber, func(f *filmRow) string {
			return f.penetration(func(p study.Penetration) float64 { _, se := p.SE(); return se })
		}},
		{"penetration_magnitude_mm", "length of the movement", "reads too high where it is small", "mm", aNumber.from(0), func(f *filmRow) string {
			return f.penetration(func(p study.Penetration) float64 { v, _ := p.Magnitude(); return v })
		}},
		{"direction_deg", "direction of the movement from superior, medial positive", "", "degrees", aNumber.from(-180).to(180), func(f *filmRow) string {
			return f.penetration(direction)
		}},
		{"lateral_film_id", "lateral film of the same day that it was joined with", "", "", aFilm, func(f *filmRow) string {
			s, ok := f.spatial()
			if !ok {
				return ""
			}
			return s.Lateral.ID
		}},
		inSpace("spatial_superior_mm", "superior movement since the baseline's day, of both films", "mm", aNumber.with("superior positive"), func(s study.Spatial) float64 { return s.Superior }),
		inSpace("se_spatial_superior_mm", "standard error of spatial_superior_mm", "mm", aNumber, func(s study.Spatial) float64 { return math.Sqrt(s.Cov[0][0]) }),
		inSpace("spatial_medial_mm", "medial movement from both films", "mm", aNumber.with("medial positive"), func(s study.Spatial) float64 { return s.Medial }),
		inSpace("se_spatial_medial_mm", "standard error of spatial_medial_mm", "mm", aNumber, func(s study.Spatial) float64 { return math.Sqrt(s.Cov[1][1]) }),
		inSpace("spatial_anterior_mm", "anterior movement from both films", "mm", aNumber.with("anterior positive"), func(s study.Spatial) float64 { return s.Anterior }),
		inSpace("se_spatial_anterior_mm", "standard error of spatial_anterior_mm", "mm", aNumber, func(s study.Spatial) float64 { return math.Sqrt(s.Cov[2][2]) }),
		inSpace("spatial_magnitude_mm", "length of the movement in space; reads too high where it is small", "mm", aNumber.from(0), func(s study.Spatial) float64 { v, _ := s.Magnitude(); return v }),
		inSpace("se_spatial_magnitude_mm", "standard error of spatial_magnitude_mm, along the movement", "mm", aNumber, func(s study.Spatial) float64 { _, se := s.Magnitude(); return se }),
		inSpace("lateral_disagreement_mm", "lateral film less AP film along the direction that both show", "mm", aNumber, func(s study.Spatial) float64 { return s.Disagreement }),
		inSpace("se_lateral_disagreement_mm", "standard error expected of lateral_disagreement_mm", "mm", aNumber, func(s study.Spatial) float64 { return s.SEDisagreement }),
	}
}

// inSpace is a column about movement in space.
func inSpace(name, label, unit string, kind kind, get func(study.Spatial) float64) column[*filmRow] {
	return column[*filmRow]{name, label, "from the AP film and the lateral film of its day together", unit, kind, func(f *filmRow) string {
		s, ok := f.spatial()
		if !ok || s.Err != nil {
			return ""
		}
		return numberCell(get(s))
	}}
}

// spatial returns what the film and the lateral film of its day tell together.
func (f *filmRow) spatial() (study.Spatial, bool) {
	if f.err == nil {
		for _, s := range f.trend.Spatial {
			if s.Film.ID == f.film.ID {
				return s, true
			}
		}
	}
	return study.Spatial{}, false
}

// filmStatus is the column that says how a film stands.
func filmStatus[T any](of func(T) study.FilmStanding) column[T] {
	return column[T]{"film_status", "how the film stands", "", "", oneOf(study.FilmStandings()), func(v T) string { return string(of(v)) }}
}

func drafts() []study.Choice {
	return []study.Choice{{Code: "draft", Words: "a reader's"}, {Code: "proposal", Words: "the program's"}, {Code: "none"}}
}

func exclusions() (out []study.Choice) {
	for _, c := range study.ExclusionCodes() {
		out = append(out, study.Choice(c))
	}
	return out
}

func views() []study.Choice {
	return []study.Choice{{Code: string(study.AP)}, {Code: string(study.Lateral)}}
}

// fileMissing is the column that says whether a film's file is gone.
func fileMissing[T any](of func(T) string) column[T] {
	return column[T]{"file_missing", "no file is where the film's was last", "NA where nobody looked", "", yesNo, of}
}

// quality returns what the reader of the reading that counts said of the film.
func (f *filmRow) quality(get func(study.Grade) string) string {
	if f.film.Reading == nil {
		return ""
	}
	g, _ := f.grade(f.film.ID, f.film.Reading.Reader)
	return get(g)
}

// draftWord is the word of a kind of draft in the tables.
func draftWord(k study.DraftKind) string {
	if k == study.Edited {
		return "draft"
	}
	return "proposal"
}

func (f *filmRow) draft(kind study.DraftKind) (study.Draft, bool) {
	for _, d := range f.OutlinesOf(f.film.ID) {
		if d.Kind == kind {
			return d, true
		}
	}
	return study.Draft{}, false
}
