package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// filmRow is a film of a hip; number counts from 1 in date order.
type filmRow struct {
	hipRow
	film   study.FilmEntry
	number int
	stands study.FilmStanding
	why    study.Note // it stands so
	lacks  func(study.Film) bool
}

var filmStates = map[study.FilmState]string{
	study.FilmRead: "read", study.FilmExcluded: "left-out", study.FilmUnread: "unread", study.FilmRefused: "no-result", study.FilmLater: "later-series",
}

// moved returns the penetration of the film since the baseline film. A film that
// was left out has one too, where it was read.
func (f filmRow) moved() (p study.Penetration, ok bool) {
	if f.film.Reading == nil {
		return p, false
	}
	return f.hipRow.moved(f.film, *f.film.Reading)
}

func (f filmRow) penetration(get func(p study.Penetration) float64) string {
	p, ok := f.moved()
	if !ok {
		return ""
	}
	return numberCell(get(p))
}

func (f filmRow) left(get func(e *study.Exclusion) string) string {
	if f.film.Exclusion == nil {
		return ""
	}
	return get(f.film.Exclusion)
}

var exportFilmColumns = []exportColumn[filmRow]{
	{"hip_id", "code of the hip; NA for a film of no hip", "", aCode, func(f filmRow) string { return f.Hip.ID }},
	{"film_id", "code of the film in the study, F and a number (the SHA-256 of its file where an earlier version of the program took the film in); a film of two hips has a row for each", "", aCode, func(f filmRow) string { return f.film.ID }},
	{"film_no", "place of the film in date order; NA for a film of no hip", "", "whole number from 1", func(f filmRow) string {
		if f.number == 0 {
			return ""
		}
		return wholeCell(f.number)
	}},
	filmStatus(func(f filmRow) study.FilmStanding { return f.stands }),
	{"status_reason", "why nothing was found or measured, or why the film is of no hip", "", aText, func(f filmRow) string { return textCell(study.NoteWords(f.why)) }},
	{"draft", "outlines on the film that nobody has accepted; they may lie over an accepted reading", "", draftValues, func(f filmRow) string {
		if _, edited := f.draft(study.Edited); edited {
			return draftWord(study.Edited)
		}
		if _, there := f.draft(study.Proposed); there {
			return draftWord(study.Proposed)
		}
		return "none"
	}},
	{"file_missing", "no file is where the film's was last; NA where nobody looked", "", yesValues, func(f filmRow) string {
		if f.lacks == nil {
			return ""
		}
		return yes(f.lacks(f.film.Film))
	}},
	{"file_patient", "code of the patient as the file says", "", aCode, func(f filmRow) string { return textCell(f.film.Facts.Patient) }},
	{"file_side", "side as the file says", "", "right; left", func(f filmRow) string { return f.film.Facts.Side.String() }},
	{"film_date", "date of the film", "", dateValues, func(f filmRow) string { return day(f.film.Date()) }},
	{"years", "from surgery to the film, in years of 365.25 days", "years", anyNumber, func(f filmRow) string {
		if f.film.Date().IsZero() || f.Hip.Surgery.IsZero() {
			return ""
		}
		return numberCell(f.Hip.Years(f.film.Date()))
	}},
	{"view", "view of the film", "", "AP; lateral", func(f filmRow) string { return string(f.film.View()) }},
	{"width_px", "columns of the film", "px", aCount, func(f filmRow) string { return known(float64(f.film.Facts.Width)) }},
	{"height_px", "rows of the film", "px", aCount, func(f filmRow) string { return known(float64(f.film.Facts.Height)) }},
	{"spacing_mm", "spacing of pixels at the detector as the file says", "mm/px", anyNumber, func(f filmRow) string { return known(f.film.Facts.SpacingMM) }},
	{"spacing_kind", "which statement of the file that is", "", aText, func(f filmRow) string { return textCell(f.film.Facts.SpacingKind) }},
	{"state", "how the film stands for the reader whose readings count", "", "read a reading counts; left-out a reader left it out; unread no reading of the reader who counts; no-result the reading holds no measurement; later-series a reading counts of a film from after an exchange, which is of a series of its own",
		func(f filmRow) string { return filmStates[f.film.State] }},
	{"left_out_code", "why the film was left out", "", exclusionCodes(), func(f filmRow) string { return f.left(func(e *study.Exclusion) string { return e.Code }) }},
	{"left_out_note", "what the reader added", "", aText, func(f filmRow) string { return f.left(func(e *study.Exclusion) string { return textCell(e.Note) }) }},
	{"left_out_by", "reader who left it out", "", aCode, func(f filmRow) string { return f.left(func(e *study.Exclusion) string { return e.Reader }) }},
	{"left_out_at", "when, in UTC", "", "YYYY-MM-DDThh:mm:ssZ", func(f filmRow) string { return f.left(func(e *study.Exclusion) string { return when(e.At) }) }},
	{"readings", "readings of the film, of all readers, withdrawn ones among them", "readings", aCount, func(f filmRow) string { return wholeCell(f.film.Readings) }},
	{"reading_id", "the reading that counts, or would if the film were not left out", "", "reading_id", func(f filmRow) string {
		if f.film.Reading == nil {
			return ""
		}
		return f.film.Reading.ID
	}},
	{"is_baseline", "penetration counts from this film", "", yesValues, func(f filmRow) string { return yes(f.err == nil && f.trend.Baseline.ID == f.film.ID) }},
	{"in_line", "the film counts for the steady-state line", "", yesValues, func(f filmRow) string {
		p, ok := f.moved()
		return yes(ok && p.InLine && f.film.State == study.FilmRead)
	}},
	{"penetration_superior_mm", "superior movement of the head since the baseline film", "mm", "number, superior positive", func(f filmRow) string {
		return f.penetration(func(p study.Penetration) float64 { return p.Vector.Superior })
	}},
	{"se_penetration_superior_mm", "its standard error", "mm", anyNumber, func(f filmRow) string {
		return f.penetration(func(p study.Penetration) float64 { se, _ := p.SE(); return se })
	}},
	{"se_baseline_superior_mm", "the part of it that is the baseline film's, the same on all films of the hip", "mm", anyNumber, func(f filmRow) string {
		return f.penetration(func(study.Penetration) float64 { se, _ := f.trend.BaselineSE(); return se })
	}},
	{"se_scale", "relative standard error of the scale, which all films of the hip share and no other error here holds", "", "number from 0", func(f filmRow) string {
		return f.penetration(func(study.Penetration) float64 { return f.trend.ScaleSE() })
	}},
	{"penetration_medial_mm", "medial movement of the head since the baseline film", "mm", "number, medial positive", func(f filmRow) string {
		return f.penetration(func(p study.Penetration) float64 { return p.Medial })
	}},
	{"se_penetration_medial_mm", "its standard error", "mm", anyNumber, func(f filmRow) string {
		return f.penetration(func(p study.Penetration) float64 { _, se := p.SE(); return se })
	}},
	{"penetration_magnitude_mm", "length of the movement; reads too high where it is small", "mm", "number from 0", func(f filmRow) string {
		return f.penetration(func(p study.Penetration) float64 { v, _ := p.Magnitude(); return v })
	}},
	{"direction_deg", "direction of the movement from superior, medial positive", "degrees", "-180 to 180", func(f filmRow) string {
		return f.penetration(func(p study.Penetration) float64 {
			if v, _ := p.Magnitude(); v == 0 {
				return math.NaN()
			}
			return p.Direction()
		})
	}},
	{"lateral_film_id", "lateral film of the same day that it was joined with", "", "film_id", func(f filmRow) string {
		s, ok := f.spatial()
		if !ok {
			return ""
		}
		return s.Lateral.ID
	}},
	inSpace("spatial_superior_mm", "superior movement since the baseline's day from the AP and the lateral film together", "mm", "number, superior positive", func(s study.Spatial) float64 { return s.Superior }),
	inSpace("se_spatial_superior_mm", "its standard error", "mm", anyNumber, func(s study.Spatial) float64 { return math.Sqrt(s.Cov[0][0]) }),
	inSpace("spatial_medial_mm", "medial movement from both films", "mm", "number, medial positive", func(s study.Spatial) float64 { return s.Medial }),
	inSpace("se_spatial_medial_mm", "its standard error", "mm", anyNumber, func(s study.Spatial) float64 { return math.Sqrt(s.Cov[1][1]) }),
	inSpace("spatial_anterior_mm", "anterior movement from both films", "mm", "number, anterior positive", func(s study.Spatial) float64 { return s.Anterior }),
	inSpace("se_spatial_anterior_mm", "its standard error", "mm", anyNumber, func(s study.Spatial) float64 { return math.Sqrt(s.Cov[2][2]) }),
	inSpace("spatial_magnitude_mm", "length of the movement in space; reads too high where it is small", "mm", "number from 0", func(s study.Spatial) float64 { v, _ := s.Magnitude(); return v }),
	inSpace("se_spatial_magnitude_mm", "its standard error along the movement", "mm", anyNumber, func(s study.Spatial) float64 { _, se := s.Magnitude(); return se }),
	inSpace("lateral_disagreement_mm", "lateral film less AP film along the direction that both show", "mm", anyNumber, func(s study.Spatial) float64 { return s.Disagreement }),
	inSpace("se_lateral_disagreement_mm", "the standard error expected of that", "mm", anyNumber, func(s study.Spatial) float64 { return s.SEDisagreement }),
}

// inSpace is a column about movement in space.
func inSpace(name, meaning, unit, values string, get func(study.Spatial) float64) exportColumn[filmRow] {
	return exportColumn[filmRow]{name, meaning, unit, values, func(f filmRow) string {
		s, ok := f.spatial()
		if !ok || s.Err != nil {
			return ""
		}
		return numberCell(get(s))
	}}
}

// spatial returns what the film and the lateral film of its day tell together.
func (f filmRow) spatial() (study.Spatial, bool) {
	if f.err == nil {
		for _, s := range f.trend.Spatial {
			if s.Film.ID == f.film.ID {
				return s, true
			}
		}
	}
	return study.Spatial{}, false
}

func exclusionCodes() string {
	var out []string
	for _, c := range study.ExclusionCodes() {
		out = append(out, c.Code+" "+c.Words)
	}
	return strings.Join(out, "; ")
}

// filmStatus is the column that says how a film stands.
func filmStatus[T any](of func(T) study.FilmStanding) exportColumn[T] {
	return exportColumn[T]{"film_status", "how the film stands", "", choices(study.FilmStandings()), func(v T) string { return string(of(v)) }}
}

const draftValues = "draft a reader's; proposal the program's; none"

// draftWord is the word of a kind of draft in the tables.
func draftWord(k study.DraftKind) string {
	if k == study.Edited {
		return "draft"
	}
	return "proposal"
}

func (f filmRow) draft(kind study.DraftKind) (study.Draft, bool) {
	for _, d := range f.OutlinesOf(f.film.ID) {
		if d.Kind == kind {
			return d, true
		}
	}
	return study.Draft{}, false
}

// readingRow is a reading, with its numbers for the hip as it is now; number counts
// those of its reader on its film, from 1. A draft has a row too, and a film without
// either has one that holds nothing; number is then 0.
type readingRow struct {
	hipRow
	row    string // of rowValues
	stands study.FilmStanding
	study.Reading
	accepted study.Measurement // as it was accepted
	moved    *study.Penetration
	entry    study.FilmEntry
	number   int
}

const (
	rowReading = "reading"
	rowNone    = "none"
	rowValues  = "reading a reader accepted it; draft a reader's outlines that are not accepted; proposal what the program proposes and nobody accepted; none no reading and no outlines of the film"
)

func readingRows(h hipRow) (out []readingRow) {
	of := map[[2]string]int{}
	byID, stands := map[string]study.FilmEntry{}, map[string]study.FilmStanding{}
	for _, e := range h.entries {
		byID[e.ID] = e
		stands[e.ID], _ = h.StandingOf(e)
	}
	for _, g := range h.Readings {
		key := [2]string{g.FilmID, g.Reader}
		of[key]++
		row := readingRow{h, rowReading, stands[g.FilmID], g, g.Measurement, nil, byID[g.FilmID], of[key]}
		if p, ok := h.moved(byID[g.FilmID], g); ok {
			row.moved = &p
		}
		row.Measurement = h.alike(g)
		out = append(out, row)
	}
	for _, e := range h.entries {
		out = append(out, unacceptedRows(h, e, stands[e.ID])...)
	}
	return out
}

// unacceptedRows are the rows of a film's drafts, or one that says that there is nothing.
func unacceptedRows(h hipRow, e study.FilmEntry, stands study.FilmStanding) (out []readingRow) {
	drafts := h.OutlinesOf(e.ID)
	for _, d := range drafts {
		row := readingRow{hipRow: h, row: draftWord(d.Kind), stands: stands, entry: e}
		row.FilmID, row.At, row.Version = e.ID, d.At, d.Version
		if m, ok := d.Measured(h.Hip, e.Film); ok {
			row.Measurement, row.accepted = m, m
			if p, ok := h.moved(e, row.Reading); ok {
				row.moved = &p
			}
			row.Measurement = h.alike(row.Reading)
		}
		out = append(out, row)
	}
	if len(drafts) == 0 && e.Readings == 0 {
		_, why := h.StandingOf(e)
		row := readingRow{hipRow: h, row: rowNone, stands: stands, entry: e}
		row.FilmID, row.Reason = e.ID, why
		if stands == study.StandsNotFound {
			row.Status = study.Refused
		}
		out = append(out, row)
	}
	return out
}

// measured returns a number of the measurement, or nothing where there is none.
func (r readingRow) measured(v float64) string {
	if r.Status != study.Measured {
		return ""
	}
	return numberCell(v)
}

func (r readingRow) penetration(v func(study.Penetration) float64) string {
	if r.moved == nil {
		return ""
	}
	return numberCell(v(*r.moved))
}

func (r readingRow) outline(o study.Outline, v float64) string {
	if r.Status != study.Measured || o.R == 0 {
		return ""
	}
	return numberCell(v)
}

var readingColumns = append([]exportColumn[readingRow]{
	{"hip_id", "code of the hip; NA for a film of no hip", "", aCode, func(r readingRow) string { return r.Hip.ID }},
	{"film_id", "code of the film, as in the table of films", "", aCode, func(r readingRow) string { return r.FilmID }},
	{"row", "what the row is about; numbers of a proposal are to look at, and enter no trend, fit or rate", "", rowValues, func(r readingRow) string { return r.row }},
	filmStatus(func(r readingRow) study.FilmStanding { return r.stands }),
	{"film_date", "date of the film", "", dateValues, func(r readingRow) string { return day(r.entry.Date()) }},
	{"years", "from surgery to the film", "years", anyNumber, func(r readingRow) string {
		if r.entry.Date().IsZero() || r.Hip.Surgery.IsZero() {
			return ""
		}
		return numberCell(r.Hip.Years(r.entry.Date()))
	}},
	{"reading_id", "the reading", "", aCode, func(r readingRow) string { return r.ID }},
	{"reader", "who read", "", aCode, func(r readingRow) string { return r.Reader }},
	{"reading_no", "which reading of the film by this reader", "", "whole number from 1", func(r readingRow) string {
		if r.number == 0 {
			return ""
		}
		return wholeCell(r.number)
	}},
	{"read_at", "when it was accepted, or the outlines were kept, in UTC", "", "YYYY-MM-DDThh:mm:ssZ", func(r readingRow) string { return when(r.At) }},
	{"program_version", "version of the program", "", aText, func(r readingRow) string { return r.Version }},
	{"supersedes", "earlier reading of the same reader that it replaces", "", "reading_id", func(r readingRow) string { return r.Supersedes }},
	{"withdrawn_at", "when its acceptance was taken back, in UTC; the reading is kept and does not count", "", "YYYY-MM-DDThh:mm:ssZ", func(r readingRow) string {
		if r.Stands() {
			return ""
		}
		return when(r.Withdrawn.At)
	}},
	{"withdrawn_by", "reader who took it back", "", aCode, func(r readingRow) string {
		if r.Stands() {
			return ""
		}
		return r.Withdrawn.Reader
	}},
	{"counts", "the reading counts in this export", "", yesValues, func(r readingRow) string {
		return yes(r.row == rowReading && r.entry.State == study.FilmRead && r.entry.Reading != nil && r.entry.Reading.ID == r.ID)
	}},
	{"left_out_code", "why its film was left out", "", exclusionCodes(), func(r readingRow) string {
		if r.entry.Exclusion == nil {
			return ""
		}
		return r.entry.Exclusion.Code
	}},
	{"status", "how it ended", "", "measured; refused; failed", func(r readingRow) string { return string(r.Status) }},
	{"reason", "why nothing was found or measured, or why a reading cannot be computed for the hip as it is now", "", aText, func(r readingRow) string { return textCell(study.NoteWords(r.Reason)) }},
	{"head_mm", "head diameter that gives the scale of the numbers here: that of the hip as it is now", "mm", anyNumber, func(r readingRow) string { return known(r.HeadMM) }},
	{"accepted_head_mm", "head diameter with which the reading was accepted; where it differs from head_mm the numbers were computed anew from the outlines", "mm", anyNumber, func(r readingRow) string { return known(r.accepted.HeadMM) }},
	{"mm_per_px", "scale at the hip", "mm/px", anyNumber, func(r readingRow) string { return r.measured(r.Measurement.Reading.Scale) }},
	{"se_mm_per_px", "its standard error", "mm/px", anyNumber, func(r readingRow) string { return r.measured(r.Measurement.Reading.SEScale) }},
	{"beam_corrected", "corrected for the cone beam", "", yesValues, func(r readingRow) string {
		if r.Status != study.Measured {
			return ""
		}
		return yes(r.How.Beam)
	}},
	{"line_deg", "reference line to the film's rows, where it was used", "degrees", anyNumber, func(r readingRow) string {
		if r.Status != study.Measured || !r.How.Line {
			return ""
		}
		return numberCell(r.Line.Alpha)
	}},
	{"offset_superior_mm", "head centre from cup centre, superior; on a lateral film towards the head end", "mm", "number, superior positive", func(r readingRow) string { return r.measured(r.Measurement.Reading.Offset.Superior) }},
	{"se_offset_superior_mm", "its standard error", "mm", anyNumber, func(r readingRow) string { s, _ := r.Measurement.Reading.Offset.SE(); return r.measured(s) }},
	{"offset_medial_mm", "head centre from cup centre, medial; on a lateral film anterior", "mm", "number, medial positive", func(r readingRow) string { return r.measured(r.Measurement.Reading.Offset.Medial) }},
	{"se_offset_medial_mm", "its standard error", "mm", anyNumber, func(r readingRow) string { _, s := r.Measurement.Reading.Offset.SE(); return r.measured(s) }},
	{"cov_offset_mm2", "covariance of the two", "mm2", anyNumber, func(r readingRow) string { return r.measured(r.Measurement.Reading.Offset.Cov[0][1]) }},
	{"penetration_superior_mm", "superior movement of the head since the reading that counts of the baseline film, of a reading that does not count too", "mm", "number, superior positive", func(r readingRow) string {
		return r.penetration(func(p study.Penetration) float64 { return p.Vector.Superior })
	}},
	{"se_penetration_superior_mm", "its standard error", "mm", anyNumber, func(r readingRow) string {
		return r.penetration(func(p study.Penetration) float64 { se, _ := p.SE(); return se })
	}},
	{"penetration_medial_mm", "medial movement of the head since then", "mm", "number, medial positive", func(r readingRow) string {
		return r.penetration(func(p study.Penetration) float64 { return p.Medial })
	}},
	{"se_penetration_medial_mm", "its standard error", "mm", anyNumber, func(r readingRow) string {
		return r.penetration(func(p study.Penetration) float64 { _, se := p.SE(); return se })
	}},
	{"eccentricity", "offset over the difference of the outlines' radii", "", anyNumber, func(r readingRow) string { return r.measured(r.Measurement.Reading.Eccentricity) }},
	{"se_eccentricity", "its standard error", "", anyNumber, func(r readingRow) string { return r.measured(r.Measurement.Reading.SEEccentricity) }},
	{"thinnest_mm", "thinnest path from the head to the cup's outline", "mm", anyNumber, func(r readingRow) string { return r.measured(r.Measurement.Reading.Thinnest) }},
	{"se_thinnest_mm", "its standard error", "mm", anyNumber, func(r readingRow) string { return r.measured(r.Measurement.Reading.SEThinnest) }},
	cupAxis("inclination_deg", "radiographic inclination of the cup, to the reference line where it was used", "degrees", func(o study.Orientation) float64 { return o.Inclination }),
	cupAxis("se_inclination_deg", "its standard error", "degrees", func(o study.Orientation) float64 { return o.SEInclination }),
	cupAxis("version_deg", "size of the radiographic version; one film does not tell its sign", "degrees", func(o study.Orientation) float64 {
		if !o.Version {
			return math.NaN()
		}
		return o.Anteversion
	}),
	cupAxis("se_version_deg", "its standard error", "degrees", func(o study.Orientation) float64 {
		if !o.Version {
			return math.NaN()
		}
		return o.SEAnteversion
	}),
	{"cup_axis_from", "what told the cup's axis", "", "rim found on the film; rim line; wire ring", func(r readingRow) string {
		if o, ok := r.Orientation(); ok && r.Status == study.Measured {
			return axisFrom(o)
		}
		return ""
	}},
	{"cup_outline", "what the cup's outline follows", "", "shell; wire; liner; cement or another word of the program", func(r readingRow) string { return string(r.CupKind) }},
	{"warnings", "codes of what the reader was asked to weigh", "", "codes joined by ;", func(r readingRow) string {
		var out []string
		for _, w := range r.Remarks() {
			if w.Code != "" {
				out = append(out, w.Code)
			}
		}
		return strings.Join(out, ";")
	}},
}, slices.Concat(
	outlineColumns("head", headOf, func(r readingRow) int { return r.Kept.Head }),
	outlineColumns("cup", cupOf, func(r readingRow) int { return r.Kept.Cup }))...)

func headOf(r readingRow) study.Outline { return r.Head }

func cupOf(r readingRow) study.Outline { return r.Cup }

// cupAxis is a column about how the cup lies.
func cupAxis(name, meaning, unit string, get func(study.Orientation) float64) exportColumn[readingRow] {
	return exportColumn[readingRow]{name, meaning, unit, anyNumber, func(r readingRow) string {
		o, ok := r.Orientation()
		if !ok {
			return ""
		}
		return r.measured(get(o))
	}}
}

// outlineColumns are the columns of a circle fitted to so many edge points.
func outlineColumns(part string, of func(readingRow) study.Outline, points func(readingRow) int) []exportColumn[readingRow] {
	c := func(name, meaning, unit string, get func(o study.Outline) float64) exportColumn[readingRow] {
		return exportColumn[readingRow]{part + "_" + name, fmt.Sprintf("%s: %s", part, meaning), unit, anyNumber,
			func(r readingRow) string { return r.outline(of(r), get(of(r))) }}
	}
	return append([]exportColumn[readingRow]{
		c("x_px", "centre, from the left edge of the film", "px", func(o study.Outline) float64 { return o.X }),
		c("y_px", "centre, from the upper edge of the film", "px", func(o study.Outline) float64 { return o.Y }),
		c("radius_px", "radius", "px", func(o study.Outline) float64 { return o.R }),
		c("se_x_px", "standard error of x", "px", func(o study.Outline) float64 { return math.Sqrt(o.Cov[0][0]) }),
		c("se_y_px", "standard error of y", "px", func(o study.Outline) float64 { return math.Sqrt(o.Cov[1][1]) }),
		c("se_radius_px", "standard error of the radius", "px", func(o study.Outline) float64 { return math.Sqrt(o.Cov[2][2]) }),
		c("arc_deg", "arc covered by edge points", "degrees", func(o study.Outline) float64 { return o.Arc }),
		c("rms_px", "root mean square of the edge points' residuals", "px", func(o study.Outline) float64 { return o.RMS }),
		c("contrast_to_noise", "median step across the outline over the noise beside it", "", func(o study.Outline) float64 { return float64(shown(o, o.Contrast)) }),
		c("clipped_share", "share of the edges at which the film cannot show more metal", "", func(o study.Outline) float64 { return float64(shown(o, o.Clipped)) }),
	}, exportColumn[readingRow]{part + "_points", part + ": edge points that the circle was fitted to", "points", anyNumber,
		func(r readingRow) string { return r.outline(of(r), float64(points(r))) }})
}

// fitRow is a number of a model fitted to a hip.
type fitRow struct {
	hipRow
	study.Quantity
}

func fitRows(h hipRow) (out []fitRow) {
	if h.err != nil || len(h.trend.Penetration) < 2 {
		return nil
	}
	for _, q := range h.trend.Quantities(study.Superior) {
		out = append(out, fitRow{h, q})
	}
	return out
}

var fitColumnsExport = []exportColumn[fitRow]{
	{"hip_id", "code of the hip", "", aCode, func(q fitRow) string { return q.Hip.ID }},
	{"readings_of", "whose readings were fitted", "", "code of a reader; latest", func(q fitRow) string { return whoseCode(q.whose) }},
	{"model", "model of superior penetration over time; films weigh by their errors and their scatter", "", aText, func(q fitRow) string { return q.Model }},
	{"quantity", "what the number is", "", aText, func(q fitRow) string { return q.Quantity.Name }},
	{"unit", "its unit", "", "mm; mm/year; years; NA for a pure number", func(q fitRow) string { return q.Unit }},
	{"value", "the number", "as unit says", anyNumber, func(q fitRow) string { return numberCell(q.Value) }},
	{"se", "its standard error, all parts together", "as unit says", anyNumber, func(q fitRow) string { return positive(q.SE).cell() }},
	{"df", "degrees of freedom of se by Satterthwaite; the interval does not come by them where se_scatter is given, see lo95", "", anyNumber, func(q fitRow) string { return positive(q.DF).cell() }},
	{"se_scatter", "part of se that the films' scatter tells; NA where the interval is not made of parts", "as unit says", anyNumber, func(q fitRow) string { return positive(q.Parts.Scatter).cell() }},
	{"df_scatter", "degrees of freedom of se_scatter; NA where it is known, as of two films", "", anyNumber, func(q fitRow) string { return positive(q.Parts.DF).cell() }},
	{"se_known", "part of se that the readings' own errors tell beyond the scatter", "as unit says", anyNumber, func(q fitRow) string { return q.part(q.Parts.Known) }},
	{"se_scale", "part of se that is the scale's, which all films share; of models without se the interval by profile likelihood is widened by it", "as unit says", anyNumber, func(q fitRow) string { return q.part(math.Abs(q.Parts.Scale)) }},
	{"lo95", "lower end of the 95 % interval; NA where open. Where se_scatter is given it is value - sqrt((se_scatter^2 + se_known^2)(z^2 + c^2 (t^2 - z^2)) + z^2 se_scale^2), z and t the 97.5 % quantiles of the normal and of Student's distribution with df_scatter (t = z where that is NA), c = se_scatter^2/(se_scatter^2 + se_known^2); else, where se is given, value - t se with df", "as unit says", anyNumber, func(q fitRow) string { return q.end(q.Interval.Lo) }},
	{"hi95", "upper end of the 95 % interval, as far above value; NA where open", "as unit says", anyNumber, func(q fitRow) string { return q.end(q.Interval.Hi) }},
	{"note", "what weakens it, or why there is none", "", aText, func(q fitRow) string { return textCell(study.NoteWords(q.Note)) }},
}

// part is a part of the interval, where it is made of parts.
func (q fitRow) part(v float64) string {
	if q.Parts == (study.Parts{}) {
		return ""
	}
	return numberCell(v)
}

func (q fitRow) end(v float64) string {
	if !q.HasInterval {
		return ""
	}
	return numberCell(v)
}
