package dataset

import (
	"math"
	"slices"

	"linerwatch/app/study"
)

// penetration returns a number of the movement, nothing where there is none.
func (r *readingRow) penetration(v func(study.Penetration) float64) string {
	if r.moved == nil {
		return ""
	}
	return numberCell(v(*r.moved))
}

// counts reports whether the reading counts for the hip.
func (r *readingRow) counts() bool {
	return r.row == rowReading && r.entry.State == study.FilmRead && r.entry.Counts(r.ID)
}

func penetrationColumns() []column[*readingRow] {
	return slices.Concat([]column[*readingRow]{
		{"film_id", "code of the film", "", "", aFilm, (*readingRow).id},
		{"film_date", "date of the film", "", "", aDay, func(r *readingRow) string { return day(r.entry.Date()) }},
		{"series", "which of the hip's series the film is of", seriesHow, "", aCount.from(1), func(r *readingRow) string { return wholeCell(r.part.series) }},
		{"years", "from surgery to the film", "in years of 365.25 days", "years", aNumber, func(r *readingRow) string { return r.years(r.entry.Date()) }},
		{"reading_id", "the reading", "", "", aReading, func(r *readingRow) string { return r.ID }},
		{"reader", "who read", "", "", aReader, func(r *readingRow) string { return r.Reader }},
		{"reading_no", "which reading of the film by this reader", "", "", aCount.from(1), func(r *readingRow) string { return wholeCell(r.number) }},
		{"supersedes", "earlier reading of the same reader that it replaces", "", "", aReading, func(r *readingRow) string { return r.Supersedes }},
		{"withdrawn", "its acceptance was taken back", "the reading is kept and does not count", "", yesNo, func(r *readingRow) string { return yes(!r.Stands()) }},
	}, listColumns(), []column[*readingRow]{
		{"left_out_code", "why its film was left out", "", "", oneOf(exclusions()), (*readingRow).leftOut},
		{"counts", "the reading counts in this export", "by readings_of of the hip: of a rule that takes a mean, all that it is of. Rates and models are of rows with 1 alone; fit passes over the others. Those of later series have 0, the table of fits has them", "", yesNo, func(r *readingRow) string { return yes(r.counts()) }},
		{"is_baseline", "penetration counts from this film", "", "", yesNo, func(r *readingRow) string { return yes(r.part.err == nil && r.part.trend.Baseline.ID == r.FilmID) }},
		{"in_line", "the reading counts for the steady-state line", "", "", yesNo, func(r *readingRow) string {
			return yes(r.counts() && r.moved != nil && study.InSteadyState(r.moved.Years, r.Hip.Start()))
		}},
		{"beam_corrected", "corrected for the cone beam", "", "", yesNo, (*readingRow).beam},
		{"penetration_superior_mm", "superior movement of the head since the baseline film", "since the reading of it that counts, in the film's own series; of a reading that does not count, too", "mm", aNumber.with("superior positive"),
			func(r *readingRow) string {
				return r.penetration(func(p study.Penetration) float64 { return p.Vector.Superior })
			}},
		{"se_penetration_superior_mm", "standard error of penetration_superior_mm", "", "mm", aNumber,
			func(r *readingRow) string {
				return r.penetration(func(p study.Penetration) float64 { se, _ := p.SE(); return se })
			}},
		{"se_baseline_superior_mm", "part of se_penetration_superior_mm that is the baseline film's", "the same on all films of the hip", "mm", aNumber,
			func(r *readingRow) string {
				return r.penetration(func(study.Penetration) float64 { se, _ := r.part.trend.BaselineSE(); return se })
			}},
		{"se_scale", "relative standard error of the scale", "all films of the hip share it, and no other error here holds it", "", aNumber.from(0),
			func(r *readingRow) string {
				return r.penetration(func(study.Penetration) float64 { return r.part.trend.ScaleSE() })
			}},
		{"penetration_medial_mm", "medial movement of the head since the baseline film", "", "mm", aNumber.with("medial positive"),
			func(r *readingRow) string {
				return r.penetration(func(p study.Penetration) float64 { return p.Medial })
			}},
		{"se_penetration_medial_mm", "standard error of penetration_medial_mm", "", "mm", aNumber,
			func(r *readingRow) string {
				return r.penetration(func(p study.Penetration) float64 { _, se := p.SE(); return se })
			}},
		{"penetration_magnitude_mm", "length of the movement", "reads too high where it is small", "mm", aNumber.from(0),
			func(r *readingRow) string {
				return r.penetration(func(p study.Penetration) float64 { v, _ := p.Magnitude(); return v })
			}},
		{"direction_deg", "direction of the movement from superior, medial positive", "", "degrees", aNumber.from(-180).to(180),
			func(r *readingRow) string { return r.penetration(direction) }},
	})
}

// direction is that of a movement, NaN of none.
func direction(p study.Penetration) float64 {
	if v, _ := p.Magnitude(); v == 0 {
		return math.NaN()
	}
	return p.Direction()
}
