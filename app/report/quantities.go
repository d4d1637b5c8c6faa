package report

import (
	"fmt"
	"io"
	"math"

	"linerwatch/app/study"
)

type quantityJSON struct {
	Of    *string `json:"of"`
	Model string  `json:"model"`
	Name  string  `json:"quantity"`
	Unit  *string `json:"unit"`
	Value num     `json:"value"`
	SE    num     `json:"se"`
	DF    num     `json:"df"`
	Lo    num     `json:"lo95"`
	Hi    num     `json:"hi95"`
	Open  bool    `json:"open"`
	P     num     `json:"p"`
	Note  *string `json:"note"`
}

func quantityOf(q study.Quantity) quantityJSON {
	out := quantityJSON{text(q.Of), q.Model, q.Name, text(q.Unit), num(q.Value), positive(q.SE), positive(q.DF), none, none, false, none, text(study.NoteWords(q.Note))}
	if q.HasInterval {
		out.Lo, out.Hi = num(q.Interval.Lo), num(q.Interval.Hi)
		out.Open = !out.Lo.exists() || !out.Hi.exists()
	}
	if q.HasP {
		out.P = num(q.P)
	}
	return out
}

// Quantities writes one object or row for each quantity. In JSON and CSV an open
// end of an interval is missing and "open" is true.
func Quantities(w io.Writer, format Format, list []study.Quantity) error {
	switch format {
	case JSON:
		out := []quantityJSON{}
		for _, q := range list {
			out = append(out, quantityOf(q))
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{{"of", "model", "quantity", "unit", "value", "se", "df", "lo95", "hi95", "open", "p", "note"}}
		for _, q := range list {
			j := quantityOf(q)
			rows = append(rows, []string{q.Of, q.Model, q.Name, q.Unit, j.Value.cell(), j.SE.cell(), j.DF.cell(),
				j.Lo.cell(), j.Hi.cell(), fmt.Sprint(j.Open), j.P.cell(), study.NoteWords(q.Note)})
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<of", "<model", "<quantity", "<value (95 %)", "p", "<note")
	for _, q := range list {
		p := ""
		if q.HasP {
			p = probability(q.P)
		}
		g.add(q.Of, q.Model, q.Name, quantityText(q), p, study.NoteWords(q.Note))
	}
	if err := g.write(w); err != nil {
		return err
	}
	return writeLines(w, "", Caution)
}

// quantityText rounds to what the interval supports.
func quantityText(q study.Quantity) string {
	if !q.Exists() {
		return "-"
	}
	unit := ""
	if q.Unit != "" {
		unit = " " + q.Unit
	}
	if !q.HasInterval {
		if q.Value == math.Trunc(q.Value) && q.Unit == "" {
			return fmt.Sprintf("%.0f", q.Value)
		}
		return column{3}.value(q.Value) + unit
	}
	lo, hi := num(q.Interval.Lo), num(q.Interval.Hi)
	c := column{3}
	if lo.exists() && hi.exists() && hi > lo {
		c = column{decimals(float64(hi-lo) / 4)}
	}
	end := func(n num) string {
		if !n.exists() {
			return "open"
		}
		return c.value(float64(n))
	}
	return fmt.Sprintf("%s (%s to %s)%s", c.value(q.Value), end(lo), end(hi), unit)
}

// probability writes p with three decimals.
func probability(p float64) string {
	if p < 0.001 {
		return "<0.001"
	}
	return column{3}.value(p)
}
