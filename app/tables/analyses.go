package tables

import (
	"errors"
	"io"
	"slices"

	"linerwatch/app/study"
)

// films is a table of penetrations in rows, with group and patient where the
// table's columns for them are named, and with covariates.
func films(r io.Reader, names Columns, covariates ...string) (rows []study.CohortRow, bad []*RowError, err error) {
	also := slices.Clone(errorColumns)
	var more []string
	for _, name := range []string{"group", "patient"} {
		if names[name] != "" {
			more = append(more, name)
		}
	}
	t, err := openTable(r, append(slices.Clone(rateColumns), covariates...), append(also, more...), names)
	if err != nil {
		return nil, nil, err
	}
	t.numbers = covariates
	for {
		extra := map[string]string{}
		hip, p, fault, err := t.nextWith(extra, more...)
		if errors.Is(err, io.EOF) {
			return rows, bad, nil
		}
		if err != nil {
			return nil, nil, err
		}
		if fault != nil {
			bad = append(bad, fault)
			continue
		}
		rows = append(rows, study.CohortRow{Hip: hip, Patient: extra["patient"], Group: extra["group"], Covariates: t.values, Point: p})
	}
}

// Models fits a model to each hip of a table, as study.FitModels does. Where a
// column liner_mm is named, it is the thickness of the hip's liner, that a Percent
// asked for is of. A hip with a bad row is not fitted; bad names the rows.
func Models(r io.Reader, names Columns, model string, start float64, ask ...study.Ask) (out []study.Quantity, bad []*RowError, err error) {
	var liner []string
	if names["liner_mm"] != "" {
		liner = []string{"liner_mm"}
	}
	rows, bad, err := films(r, names, liner...)
	if err != nil {
		return nil, nil, err
	}
	thick := map[string]float64{}
	for _, f := range rows {
		if liner != nil {
			thick[f.Hip] = f.Covariates[0]
		}
	}
	spoilt := map[string]bool{}
	for _, b := range bad {
		spoilt[b.Hip] = true
	}
	points := map[string][]study.Point{}
	var order []string
	for _, f := range rows {
		if points[f.Hip] == nil {
			order = append(order, f.Hip)
		}
		points[f.Hip] = append(points[f.Hip], f.Point)
	}
	for _, hip := range order {
		if spoilt[hip] {
			continue
		}
		out = append(out, study.FitModels(hip, points[hip], model, start, ofLiner(ask, thick[hip])...)...)
	}
	if len(out) == 0 && len(bad) == 0 {
		return nil, nil, errNoRows
	}
	return out, bad, nil
}

// ofLiner turns percentages of a liner into penetrations.
func ofLiner(ask []study.Ask, linerMM float64) []study.Ask {
	out := slices.Clone(ask)
	for i, a := range out {
		if a.Percent > 0 && linerMM > 0 {
			out[i] = study.AskLiner(a.Percent, linerMM)
		}
	}
	return out
}

var errNoRows = study.NewError("table.no-rows", nil)

// errBadRows says that an analysis of the whole table was not made.
var errBadRows = study.NewError("table.bad-rows", nil)

// Mixed fits the mixed model, if asked, to a whole table, and compares two
// groups by each hip's own line; beside a mixed model of other than two groups
// that comparison is left out. With a bad row nothing is fitted.
func Mixed(r io.Reader, names Columns, mixed bool, o study.CohortOptions) (out []study.Quantity, bad []*RowError, err error) {
	rows, bad, err := films(r, names, o.Covariates...)
	switch {
	case err != nil:
		return nil, nil, err
	case len(bad) > 0:
		return nil, bad, errBadRows
	case len(rows) == 0:
		return nil, nil, errNoRows
	}
	if mixed {
		if out, err = study.Mixed(rows, o); err != nil {
			return nil, nil, err
		}
	}
	if names["group"] != "" {
		q, err := study.Groups(rows, o)
		if err != nil && !mixed {
			return nil, nil, err
		}
		out = append(out, q...)
	}
	return out, nil, nil
}

// Agreement judges a table of readings with the columns target, reader and
// value. With a bad row nothing is judged.
func Agreement(r io.Reader, names Columns, unit string) (out []study.Quantity, bad []*RowError, err error) {
	t, err := openTable(r, []string{"target", "reader", "value"}, nil, names)
	if err != nil {
		return nil, nil, err
	}
	rows, bad, err := whole(t, "target", func(cell func(string) string, say func(column string, why study.Note)) study.AgreeRow {
		a := study.AgreeRow{Target: cell("target"), Reader: cell("reader")}
		if a.Reader == "" {
			say("reader", empty)
		}
		var why study.Note
		if a.Value, why = t.number(cell("value")); !why.IsZero() {
			say("value", why)
		}
		return a
	})
	if err == nil {
		out, err = study.Agreement(rows, unit)
	}
	return out, bad, err
}
