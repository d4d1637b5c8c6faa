package dataset

import (
	"math"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// fitRow is a number of a model fitted to a series of a hip.
type fitRow struct {
	*hipRow
	in *hipRow // the series
	study.Quantity
}

func fitRows(h *hipRow) (out []*fitRow) {
	for _, part := range append([]*hipRow{h}, h.later...) {
		if part.err != nil || len(part.trend.Penetration) < 2 {
			continue
		}
		for _, q := range part.trend.Quantities(study.Superior) {
			out = append(out, &fitRow{h, part, q})
		}
	}
	return out
}

// start is when the series began.
func (q *fitRow) start() string {
	if q.in == q.hipRow {
		return numberCell(0)
	}
	return q.years(q.in.Hip.Surgery)
}

// seriesHow says what a series is.
const seriesHow = "1 from surgery; head or liner exchanged or cup revised begins the next, with a baseline film of its own"

func fitColumns() []column[*fitRow] {
	return []column[*fitRow]{
		{"readings_of", "whose readings were fitted", rules(), "", aReader, func(q *fitRow) string { return report.WhoseCode(q.whose) }},
		{"series", "which of the hip's series of films was fitted", seriesHow, "", aCount.from(1), func(q *fitRow) string { return wholeCell(q.in.series) }},
		{"series_start_years", "from surgery to the exchange that began the series", "0 of the first; times of a series count from here", "years", aNumber.from(0), (*fitRow).start},
		{"model", "model of superior penetration over time", "films weigh by their errors and their scatter", "", aWord, func(q *fitRow) string { return q.Model }},
		{"quantity", "what the number is", "", "", aWord, func(q *fitRow) string { return q.Quantity.Name }},
		{"unit", "unit of the number", "NA for a pure number", "", aWord, func(q *fitRow) string { return q.Unit }},
		{"value", "the number", "", "as unit says", aNumber, func(q *fitRow) string { return numberCell(q.Value) }},
		{"se", "standard error of value", "all parts together", "as unit says", aNumber, func(q *fitRow) string { return positive(q.SE) }},
		{"df", "degrees of freedom of se by Satterthwaite", "the interval does not come by them where se_scatter is given, see lo95", "", aNumber, func(q *fitRow) string { return positive(q.DF) }},
		{"se_scatter", "part of se that the films' scatter tells", "NA where the interval is not made of parts", "as unit says", aNumber, func(q *fitRow) string { return positive(q.Parts.Scatter) }},
		{"df_scatter", "degrees of freedom of se_scatter", "NA where it is known, as of two films", "", aNumber, func(q *fitRow) string { return positive(q.Parts.DF) }},
		{"se_known", "part of se that the readings' own errors tell beyond the scatter", "", "as unit says", aNumber, func(q *fitRow) string { return q.part(q.Parts.Known) }},
		{"se_scale", "part of se that is the scale's, which all films share", "of models without se the interval by profile likelihood is widened by it", "as unit says", aNumber, func(q *fitRow) string { return q.part(math.Abs(q.Parts.Scale)) }},
		{"lo95", "lower end of the 95 % interval", "NA where open. Where se_scatter is given it is value - sqrt((se_scatter^2 + se_known^2)(z^2 + c^2 (t^2 - z^2)) + z^2 se_scale^2), z and t the 97.5 % quantiles of the normal and of Student's distribution with df_scatter (t = z where that is NA), c = se_scatter^2/(se_scatter^2 + se_known^2); else, where se is given, value - t se with df", "as unit says", aNumber, func(q *fitRow) string { return end(q.Quantity, q.Interval.Lo) }},
		{"hi95", "upper end of the 95 % interval, as far above value", "NA where open", "as unit says", aNumber, func(q *fitRow) string { return end(q.Quantity, q.Interval.Hi) }},
		{"note", "what weakens it, or why there is none", "", "", words, func(q *fitRow) string { return oneLine(study.NoteWords(q.Note)) }},
	}
}

// part is a part of the interval, where it is made of parts.
func (q *fitRow) part(v float64) string {
	if q.Parts == (study.Parts{}) {
		return ""
	}
	return numberCell(v)
}
