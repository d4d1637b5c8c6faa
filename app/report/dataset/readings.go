package dataset

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// readingRow is a reading, with its numbers for the hip as it is now; number counts
// those of its reader on its film, from 1. A draft has a row too, and a film without
// either has one that holds nothing; number is then 0.
type readingRow struct {
	*hipRow
	row    string // of rowValues
	stands study.FilmStanding
	study.Reading
	accepted study.Measurement  // as it was accepted
	part     *hipRow            // the series that its film is of
	moved    *study.Penetration // since the baseline film of that
	entry    study.FilmEntry
	number   int
	rowNo    int // among those of its film, from 1

	axis   study.Orientation // of the cup, once looked at
	lies   bool              // there is one
	looked bool
}

// orientation is how the cup lies, which several columns tell.
func (r *readingRow) orientation() (study.Orientation, bool) {
	if !r.looked {
		r.looked = true
		r.axis, r.lies = r.Orientation()
	}
	return r.axis, r.lies
}

const (
	rowReading = "reading"
	rowNone    = "none"
)

func rowChoices() []study.Choice {
	return []study.Choice{{Code: rowReading, Words: "a reader accepted it"}, {Code: "draft", Words: "a reader's outlines that are not accepted"},
		{Code: "proposal", Words: "what the program proposes and nobody accepted"}, {Code: rowNone, Words: "no reading and no outlines of the film"}}
}

func statusChoices() []study.Choice {
	return []study.Choice{{Code: string(study.Measured)}, {Code: string(study.Refused)}, {Code: string(study.Failed)}}
}

func axisChoices() []study.Choice {
	return []study.Choice{{Code: "rim found", Words: "on the film"}, {Code: "rim line", Words: "drawn"}, {Code: "wire ring"}}
}

// axis says what told the cup's axis.
func axis(o study.Orientation) string {
	switch {
	case o.Found:
		return "rim found"
	case o.Version:
		return "wire ring"
	}
	return "rim line"
}

func (r *readingRow) id() string { return r.FilmID }

// readingRows are the rows of a hip, readings first.
func readingRows(h *hipRow) (out []*readingRow) {
	of := map[[2]string]int{}
	byID, stands := map[string]study.FilmEntry{}, map[string]study.FilmStanding{}
	for _, e := range h.entries {
		byID[e.ID] = e
		stands[e.ID], _ = h.StandingOf(e)
	}
	for _, g := range h.Readings {
		key := [2]string{g.FilmID, g.Reader}
		of[key]++
		row := &readingRow{hipRow: h, row: rowReading, stands: stands[g.FilmID], Reading: g, accepted: g.Measurement, entry: byID[g.FilmID], number: of[key]}
		row.setIn(h)
		out = append(out, row)
	}
	for _, e := range h.entries {
		out = append(out, unacceptedRows(h, e, stands[e.ID])...)
	}
	rows := map[string]int{}
	for _, r := range out {
		rows[r.FilmID]++
		r.rowNo = rows[r.FilmID]
	}
	return out
}

// setIn reads a row as the series has it that its film is of: for the implant that the hip had then,
// and since the baseline film of that.
func (r *readingRow) setIn(h *hipRow) {
	part, entry := h.seriesOf(r.FilmID)
	r.part = part
	if p, ok := part.moved(entry, r.Reading); ok {
		r.moved = &p
	}
	r.Measurement = part.alike(r.Reading)
}

// unacceptedRows are the rows of a film's drafts, or one that says that there is nothing.
func unacceptedRows(h *hipRow, e study.FilmEntry, stands study.FilmStanding) (out []*readingRow) {
	drafts := h.OutlinesOf(e.ID)
	for _, d := range drafts {
		row := &readingRow{hipRow: h, part: h, row: draftWord(d.Kind), stands: stands, entry: e}
		row.FilmID, row.At, row.Version = e.ID, d.At, d.Version
		if m, ok := d.Measured(h.Hip, e.Film); ok {
			row.Measurement, row.accepted = m, m
			row.setIn(h)
		}
		out = append(out, row)
	}
	if len(drafts) == 0 && e.Readings == 0 {
		_, why := h.StandingOf(e)
		row := &readingRow{hipRow: h, part: h, row: rowNone, stands: stands, entry: e}
		row.FilmID, row.Reason = e.ID, why
		if stands == study.StandsNotFound {
			row.Status = study.Refused
		}
		out = append(out, row)
	}
	return out
}

// leftOut says why the film was left out.
func (r *readingRow) leftOut() string {
	if r.entry.Exclusion == nil {
		return ""
	}
	return r.entry.Exclusion.Code
}

// beam says whether the reading is corrected for the cone beam.
func (r *readingRow) beam() string {
	if r.Status != study.Measured {
		return ""
	}
	return yes(r.How.Beam)
}

// measured returns a number of the measurement, or nothing where there is none.
func (r *readingRow) measured(v float64) string {
	if r.Status != study.Measured {
		return ""
	}
	return numberCell(v)
}

func (r *readingRow) outline(o study.Outline, v float64) string {
	if r.Status != study.Measured || o.R == 0 {
		return ""
	}
	return numberCell(v)
}

func readingColumns() []column[*readingRow] {
	return slices.Concat([]column[*readingRow]{
		{"film_id", "code of the film", "", "", aFilm, func(r *readingRow) string { return r.FilmID }},
		{"row", "what the row is about", "numbers of a proposal are to look at, and enter no trend, fit or rate", "", oneOf(rowChoices()), func(r *readingRow) string { return r.row }},
		{"row_no", "number of the row among those of the film for the hip", "", "", aCount.from(1), func(r *readingRow) string { return wholeCell(r.rowNo) }},
		filmStatus(func(r *readingRow) study.FilmStanding { return r.stands }),
		{"film_date", "date of the film", "", "", aDay, func(r *readingRow) string { return day(r.entry.Date()) }},
		{"years", "from surgery to the film", "", "years", aNumber, func(r *readingRow) string { return r.years(r.entry.Date()) }},
		{"reading_id", "the reading", "", "", aReading, func(r *readingRow) string { return r.ID }},
		{"reader", "who read", "", "", aReader, func(r *readingRow) string { return r.Reader }},
		{"reading_no", "which reading of the film by this reader", "", "", aCount.from(1), func(r *readingRow) string {
			if r.number == 0 {
				return ""
			}
			return wholeCell(r.number)
		}},
		{"read_at", "when it was accepted, or the outlines were kept, in UTC", "", "", aMoment, func(r *readingRow) string { return when(r.At) }},
		{"program_version", "version of the program", "", "", aWord, func(r *readingRow) string { return r.Version }},
		{"supersedes", "earlier reading of the same reader that it replaces", "", "", aReading, func(r *readingRow) string { return r.Supersedes }},
		{"withdrawn", "its acceptance was taken back", "the reading is kept and does not count", "", yesNo, func(r *readingRow) string {
			if r.row != rowReading {
				return ""
			}
			return yes(!r.Stands())
		}},
		{"withdrawn_at", "when its acceptance was taken back, in UTC", "", "", aMoment, func(r *readingRow) string {
			if r.Stands() {
				return ""
			}
			return when(r.Withdrawn.At)
		}},
		{"withdrawn_by", "reader who took it back", "", "", aReader, func(r *readingRow) string {
			if r.Stands() {
				return ""
			}
			return r.Withdrawn.Reader
		}},
		{"counts", "the reading counts in this export", "", "", yesNo, func(r *readingRow) string { return yes(r.counts()) }},
		{"left_out_code", "why its film was left out", "", "", oneOf(exclusions()), (*readingRow).leftOut},
		{"quality", "how good the reader found the film for measuring", "", "", oneOf(study.Qualities()), func(r *readingRow) string { return r.gradeOf().Quality }},
		{"quality_reason", "why it is less than good", "", "", oneOf(study.GradeReasons()), func(r *readingRow) string { return r.gradeOf().Reason }},
	}, listColumns(), []column[*readingRow]{
		{"status", "how it ended", "", "", oneOf(statusChoices()), func(r *readingRow) string { return string(r.Status) }},
		{"reason", "why there is no measurement", "nothing was found or measured, or a reading cannot be computed for the hip as it is now", "", words, func(r *readingRow) string { return oneLine(study.NoteWords(r.Reason)) }},
		{"head_mm", "head diameter that gives the scale of the numbers here", "that of the hip as it is now", "mm", aNumber, func(r *readingRow) string { return known(r.HeadMM) }},
		{"accepted_head_mm", "head diameter with which the reading was accepted", "where it differs from head_mm the numbers were computed anew from the outlines", "mm", aNumber, func(r *readingRow) string { return known(r.accepted.HeadMM) }},
		{"mm_per_px", "scale at the hip", "", "mm/px", aNumber, func(r *readingRow) string { return r.measured(r.Measurement.Reading.Scale) }},
		{"se_mm_per_px", "standard error of mm_per_px", "", "mm/px", aNumber, func(r *readingRow) string { return r.measured(r.Measurement.Reading.SEScale) }},
		{"beam_corrected", "corrected for the cone beam", "", "", yesNo, (*readingRow).beam},
		{"line_deg", "reference line to the film's rows, where it was used", "", "degrees", aNumber, func(r *readingRow) string {
			if r.Status != study.Measured || !r.How.Line {
				return ""
			}
			return numberCell(r.Line.Alpha)
		}},
		{"offset_superior_mm", "head centre from cup centre, superior", "on a lateral film towards the head end", "mm", aNumber.with("superior positive"), func(r *readingRow) string { return r.measured(r.Measurement.Reading.Offset.Superior) }},
		{"se_offset_superior_mm", "standard error of offset_superior_mm", "", "mm", aNumber, func(r *readingRow) string { s, _ := r.Measurement.Reading.Offset.SE(); return r.measured(s) }},
		{"offset_medial_mm", "head centre from cup centre, medial", "on a lateral film anterior", "mm", aNumber.with("medial positive"), func(r *readingRow) string { return r.measured(r.Measurement.Reading.Offset.Medial) }},
		{"se_offset_medial_mm", "standard error of offset_medial_mm", "", "mm", aNumber, func(r *readingRow) string { _, s := r.Measurement.Reading.Offset.SE(); return r.measured(s) }},
		{"cov_offset_mm2", "covariance of offset_superior_mm and offset_medial_mm", "", "mm2", aNumber, func(r *readingRow) string { return r.measured(r.Measurement.Reading.Offset.Cov[0][1]) }},
		{"eccentricity", "offset over the difference of the outlines' radii", "", "", aNumber, func(r *readingRow) string { return r.measured(r.Measurement.Reading.Eccentricity) }},
		{"se_eccentricity", "standard error of eccentricity", "", "", aNumber, func(r *readingRow) string { return r.measured(r.Measurement.Reading.SEEccentricity) }},
		{"thinnest_mm", "thinnest path from the head to the cup's outline", "", "mm", aNumber, func(r *readingRow) string { return r.measured(r.Measurement.Reading.Thinnest) }},
		{"se_thinnest_mm", "standard error of thinnest_mm", "", "mm", aNumber, func(r *readingRow) string { return r.measured(r.Measurement.Reading.SEThinnest) }},
		cupAxis("inclination_deg", "radiographic inclination of the cup, to the reference line if used", "degrees", func(o study.Orientation) float64 { return o.Inclination }),
		cupAxis("se_inclination_deg", "standard error of inclination_deg", "degrees", func(o study.Orientation) float64 { return o.SEInclination }),
		cupAxis("version_deg", "size of the radiographic version; one film does not tell its sign", "degrees", func(o study.Orientation) float64 {
			if !o.Version {
				return math.NaN()
			}
			return o.Anteversion
		}),
		cupAxis("se_version_deg", "standard error of version_deg", "degrees", func(o study.Orientation) float64 {
			if !o.Version {
				return math.NaN()
			}
			return o.SEAnteversion
		}),
		{"cup_axis_from", "what told the cup's axis", "", "", oneOf(axisChoices()), func(r *readingRow) string {
			if o, ok := r.orientation(); ok && r.Status == study.Measured {
				return axis(o)
			}
			return ""
		}},
		{"cup_outline", "what the cup's outline follows", "", "", aWord, func(r *readingRow) string { return string(r.CupKind) }},
		{"warnings", "codes of what the reader was asked to weigh", "joined by ;", "", aWord, func(r *readingRow) string {
			var out []string
			for _, w := range r.Remarks() {
				if w.Code != "" {
					out = append(out, w.Code)
				}
			}
			return strings.Join(out, ";")
		}},
	},
		outlineColumns("head", headOf, func(r *readingRow) int { return r.Kept.Head }),
		outlineColumns("cup", cupOf, func(r *readingRow) int { return r.Kept.Cup }))
}

func headOf(r *readingRow) study.Outline { return r.Head }

func cupOf(r *readingRow) study.Outline { return r.Cup }

// cupAxis is a column about how the cup lies.
func cupAxis(name, label, unit string, get func(study.Orientation) float64) column[*readingRow] {
	return column[*readingRow]{name, label, "", unit, aNumber, func(r *readingRow) string {
		o, ok := r.orientation()
		if !ok {
			return ""
		}
		return r.measured(get(o))
	}}
}

// outlineColumns are the columns of a circle fitted to so many edge points.
func outlineColumns(part string, of func(*readingRow) study.Outline, points func(*readingRow) int) []column[*readingRow] {
	c := func(name, meaning, unit string, get func(o study.Outline) float64) column[*readingRow] {
		return column[*readingRow]{part + "_" + name, fmt.Sprintf("%s: %s", part, meaning), "", unit, aNumber,
			func(r *readingRow) string { return r.outline(of(r), get(of(r))) }}
	}
	return append([]column[*readingRow]{
		c("x_px", "centre, from the left edge of the film", "px", func(o study.Outline) float64 { return o.X }),
		c("y_px", "centre, from the upper edge of the film", "px", func(o study.Outline) float64 { return o.Y }),
		c("radius_px", "radius", "px", func(o study.Outline) float64 { return o.R }),
		c("se_x_px", "standard error of x", "px", func(o study.Outline) float64 { return math.Sqrt(o.Cov[0][0]) }),
		c("se_y_px", "standard error of y", "px", func(o study.Outline) float64 { return math.Sqrt(o.Cov[1][1]) }),
		c("se_radius_px", "standard error of the radius", "px", func(o study.Outline) float64 { return math.Sqrt(o.Cov[2][2]) }),
		c("arc_deg", "arc covered by edge points", "degrees", func(o study.Outline) float64 { return o.Arc }),
		c("rms_px", "root mean square of the edge points' residuals", "px", func(o study.Outline) float64 { return o.RMS }),
		c("contrast_to_noise", "median step across the outline over the noise beside it", "", func(o study.Outline) float64 { return shown(o, o.Contrast) }),
		c("clipped_share", "share of the edges at which the film cannot show more metal", "", func(o study.Outline) float64 { return shown(o, o.Clipped) }),
	}, column[*readingRow]{part + "_points", part + ": edge points that the circle was fitted to", "", "points", aCount,
		func(r *readingRow) string { return r.outline(of(r), float64(points(r))) }})
}

// shown is how well an outline shows, where that was looked at.
func shown(o study.Outline, v float64) float64 {
	if o.Contrast == 0 {
		return math.NaN()
	}
	return v
}
