package dataset

import (
	"math"

	"linerwatch/app/study"
)

// agreedRow is a number of the agreement of readers.
type agreedRow struct{ study.Quantity }

func (*agreedRow) of() *hipRow { return nil }

// agreedOf gathers the readings of a hip by which readers are compared, as "agree" does.
func (e *export) agreedOf(r study.Record) *study.Agreeing {
	a := e.agreed.Apart()
	a.Add(r)
	a.Rename(e.mask.readerTold)
	return a
}

// agreement judges the readings of the study; where too few were read twice it says why.
func agreement(a *study.Agreeing) (out []*agreedRow) {
	got, err := a.Judge()
	if err != nil {
		return []*agreedRow{{study.Quantity{Model: "readings", Name: "agreement", Value: math.Inf(1), Note: study.NoteOf(err)}}}
	}
	for _, q := range got.Quantities {
		out = append(out, &agreedRow{q})
	}
	return out
}

func agreedColumns() []column[*agreedRow] {
	n := func(name, label, how string, get func(*agreedRow) string) column[*agreedRow] {
		return column[*agreedRow]{name, label, how, "as unit says", aNumber, get}
	}
	return []column[*agreedRow]{
		{"readers", "reader, or pair of readers", "NA for all of them together", "", aWord, func(q *agreedRow) string { return q.Of }},
		{"model", "what the number is of", "", "", aWord, func(q *agreedRow) string { return q.Model }},
		{"quantity", "what the number is", "", "", aWord, func(q *agreedRow) string { return q.Quantity.Name }},
		{"unit", "unit of the number", "NA for a pure number", "", aWord, func(q *agreedRow) string { return q.Unit }},
		n("value", "the number", "of the superior offset of the readings that stand and that none corrects, on films that are not left out, but for adjudications; those of a film by one method", func(q *agreedRow) string { return numberCell(q.Value) }),
		n("se", "standard error of value", "", func(q *agreedRow) string { return positive(q.SE) }),
		n("df", "degrees of freedom of se", "", func(q *agreedRow) string { return positive(q.DF) }),
		n("lo95", "lower end of the 95 % interval", "NA where open", func(q *agreedRow) string { return end(q.Quantity, q.Interval.Lo) }),
		n("hi95", "upper end of the 95 % interval", "NA where open", func(q *agreedRow) string { return end(q.Quantity, q.Interval.Hi) }),
		{"convention", "what made the interval, where more than one way is in use", "", "", aWord, func(q *agreedRow) string { return string(q.By) }},
		{"note", "what weakens it, or why there is none", "", "", words, func(q *agreedRow) string { return oneLine(study.NoteWords(q.Note)) }},
	}
}

// end is an end of an interval.
func end(q study.Quantity, v float64) string {
	if !q.HasInterval {
		return ""
	}
	return numberCell(v)
}
