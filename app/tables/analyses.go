package tables

import (
	"errors"
	"io"
	"maps"
	"slices"

	"linerwatch/app/study"
)

// films is a table of penetrations in rows, with group, patient, class and film where the
// table's columns for them are named, with covariates, which are numbers, and with
// categories, which are words.
func films(r io.Reader, names Columns, covariates, categories []string) (t *table, rows []study.CohortRow, bad []*RowError, err error) {
	also := append(slices.Clone(errorColumns), "patient")
	var more []string
	for _, name := range []string{"group", "patient", "class", "film"} {
		if names[name] != "" {
			more = append(more, name)
		}
		if names[name] != "" && name != "patient" {
			also = append(also, name)
		}
	}
	own := Columns{}
	maps.Copy(own, names)
	for _, name := range categories {
		own[name] = name // must not be empty, as what the caller names
		more = append(more, name)
	}
	t, err = openTable(r, slices.Concat(rateColumns, covariates, categories), also, own)
	if err != nil {
		return nil, nil, nil, err
	}
	t.numbers = covariates
	for {
		extra := map[string]string{}
		hip, p, fault, err := t.nextWith(extra, more...)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, nil, err
		}
		if fault != nil {
			bad = append(bad, fault)
			continue
		}
		if name := unknown(extra, append([]string{"group"}, categories...)); name != "" {
			t.left.add(t.names.named(name))
			continue
		}
		row := study.CohortRow{Hip: hip, Patient: extra["patient"], Group: extra["group"], Class: extra["class"], Film: extra["film"], Covariates: t.values, Point: p}
		for _, name := range categories {
			row.Categories = append(row.Categories, extra[name])
		}
		rows = append(rows, row)
	}
	for i := range rows {
		rows[i].Hip = t.hips.shown(rows[i].Hip)
	}
	return t, rows, bad, nil
}

// unknown returns the first of some columns of which the row says that it is not known.
func unknown(cells map[string]string, columns []string) string {
	for _, name := range columns {
		if cells[name] == notKnown {
			return name
		}
	}
	return ""
}

// tellLeft says how many rows were passed over because they are readings that do not count, or a
// column by which rows are compared is not known of them.
func (t *table) tellLeft() (out []study.Quantity) {
	n := 0.0
	for _, rows := range t.aside.of {
		n += float64(rows)
	}
	if n > 0 {
		out = append(out, study.Quantity{Model: "the table", Name: "rows passed over", Value: n, Note: note("table.aside", study.Values{"N": n})})
	}
	for _, column := range t.left.order {
		n := float64(t.left.of[column])
		out = append(out, study.Quantity{Model: "the table", Name: "rows passed over", Value: n, Note: note("agreement.na", study.Values{"N": n, "Column": column})})
	}
	return out
}

// linerPoint is a film with the thickness of its hip's liner, 0 where it is not known.
type linerPoint struct {
	study.Point
	liner float64
}

// Models fits a model to each hip of a table, as study.FitModels does, on all
// processors, and hands over each hip's quantities in the order of the hips, so that no
// more than a few are held at a time. Where a column liner_mm is named, it is the
// thickness of the hip's liner, that a Percent asked for is of. A hip with a bad row is
// not fitted; bad names the rows.
func Models(r io.Reader, names Columns, model string, start float64, told func([]study.Quantity) error, ask ...study.Ask) (bad []*RowError, err error) {
	t, err := openTable(r, append(slices.Clone(rateColumns), liner(names)...), append(slices.Clone(errorColumns), "patient"), names)
	if err != nil {
		return nil, err
	}
	t.numbers = liner(names)
	g, err := gather(t, func(p study.Point) (linerPoint, *RowError) {
		if len(t.values) > 0 {
			return linerPoint{p, t.values[0]}, nil
		}
		return linerPoint{p, 0}, nil
	})
	if err != nil {
		return nil, err
	}
	if len(g.hips) == 0 && len(g.bad) == 0 {
		return nil, errNoRows
	}
	err = inOrder(len(g.hips), func(i int) []study.Quantity {
		hip, rows := g.hips[i], g.rows(i)
		if g.spoilt[hip] != nil {
			return nil
		}
		points := make([]study.Point, len(rows))
		for k, r := range rows {
			points[k] = r.Point
		}
		out := study.FitModels(t.hips.shown(hip), points, model, start, ofLiner(ask, rows[len(rows)-1].liner)...)
		return append(out, t.hips.tell(hip)...)
	}, told)
	if s := t.hips.pooled(); err == nil && !s.IsZero() {
		err = told([]study.Quantity{t.hips.tellPooled(s)})
	}
	return g.bad, err
}

// liner is the column of the liners' thickness, where one is named.
func liner(names Columns) []string {
	if names["liner_mm"] == "" {
		return nil
	}
	return []string{"liner_mm"}
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

// cohort is a whole table of films; it fails with a bad row, which bad names.
func cohort(r io.Reader, names Columns, o study.CohortOptions) (t *table, rows []study.CohortRow, bad []*RowError, err error) {
	t, rows, bad, err = films(r, names, o.Covariates, o.Categories)
	switch {
	case err != nil:
		return nil, nil, nil, err
	case len(bad) > 0:
		return nil, nil, bad, errBadRows
	case len(rows) == 0:
		return nil, nil, nil, errNoRows
	}
	return t, rows, nil, nil
}

// Settle fits bedding-in and rate to all films of a whole table, by group where its column
// is named; see study.Settle. With a bad row nothing is fitted.
func Settle(r io.Reader, names Columns, o study.CohortOptions) (out []study.Quantity, bad []*RowError, err error) {
	t, rows, bad, err := cohort(r, names, o)
	if err != nil {
		return nil, bad, err
	}
	if out, err = study.Settle(rows, o); err != nil {
		return nil, nil, err
	}
	return append(append(out, t.tellLeft()...), t.hips.tell("")...), nil, nil
}

// Mixed fits the mixed model, if asked, to a whole table, and compares groups by each
// hip's own line; beside a mixed model of one group that comparison is left out. With a bad row nothing is fitted.
func Mixed(r io.Reader, names Columns, mixed bool, o study.CohortOptions) (out []study.Quantity, bad []*RowError, err error) {
	t, rows, bad, err := cohort(r, names, o)
	if err != nil {
		return nil, bad, err
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
	return append(append(out, t.tellLeft()...), t.hips.tell("")...), nil, nil
}
