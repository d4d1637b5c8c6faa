package tables

import (
	"io"
	"slices"
	"strconv"

	"linerwatch/app/study"
)

// Vectors fits both components of each hip of a table together, as
// study.FitVector does: penetration_mm is the superior one, medial_mm the other,
// se_mm and medial_se_mm their standard errors where known. A hip with a bad row is
// not fitted.
func Vectors(r io.Reader, names Columns, start, direction float64) (out []study.Quantity, bad []*RowError, err error) {
	t, err := openTable(r, []string{"hip", "years", "penetration_mm", "medial_mm"}, []string{"se_mm", "medial_se_mm", "patient"}, names)
	if err != nil {
		return nil, nil, err
	}
	t.numbers = []string{"medial_mm"}
	if _, ok := t.column["medial_se_mm"]; ok {
		t.numbers = append(t.numbers, "medial_se_mm")
	}
	g, err := gather(t, func(p study.Point) (study.VectorPoint, *RowError) {
		v := study.VectorPoint{Point: p, MedialMM: t.values[0]}
		if len(t.values) > 1 {
			v.SEMedial = t.values[1]
		}
		if v.SEMedial < 0 {
			return v, &RowError{t.line, names.named("medial_se_mm"), "", note("cell.negative", study.Values{"Value": v.SEMedial})}
		}
		return v, nil
	})
	if err != nil {
		return nil, nil, err
	}
	for i, hip := range g.hips {
		if g.spoilt[hip] == nil {
			out = append(out, study.FitVector(t.hips.shown(hip), g.rows(i), start, direction)...)
		}
	}
	if len(out) == 0 && len(g.bad) == 0 {
		return nil, nil, errNoRows
	}
	return append(append(out, t.tellLeft()...), t.hips.tell("")...), g.bad, nil
}

// Liners follows the liners of a table to their revision, as study.Liners does: one
// row for each liner with the columns hip, years and event, group and patient where
// named, and covariates. With a bad row nothing is told.
func Liners(r io.Reader, names Columns, o study.LinerOptions) (out []study.Quantity, bad []*RowError, err error) {
	var named []string
	for _, name := range []string{"group", "patient"} {
		if names[name] != "" {
			named = append(named, name)
		}
	}
	also := named
	if names["patient"] == "" {
		also = append(slices.Clone(named), "patient")
	}
	t, err := openTable(r, slices.Concat([]string{"hip", "years", "event"}, o.Covariates), also, names)
	if err != nil {
		return nil, nil, err
	}
	rows, bad, err := whole(t, "hip", func(cell func(string) string, say func(column string, why study.Note)) study.LinerRow {
		l := study.LinerRow{Hip: t.hip(cell), Group: cell("group")}
		if names["patient"] != "" {
			l.Patient = cell("patient")
		}
		number := func(name string) float64 {
			v, why := t.number(cell(name))
			if !why.IsZero() {
				say(name, why)
			}
			return v
		}
		l.Years = number("years")
		if s := yearsFault(l.Years); !s.IsZero() {
			say("years", s)
		}
		var err error
		if l.Event, err = strconv.Atoi(cell("event")); err != nil || l.Event < 0 || l.Event > study.MaxEvent {
			say("event", note("cell.no-event", study.Values{"Text": cell("event"), "Most": float64(study.MaxEvent)}))
		}
		for _, name := range o.Covariates {
			l.Covariates = append(l.Covariates, number(name))
		}
		for _, name := range named {
			if cell(name) == "" {
				say(name, empty)
			}
		}
		return l
	})
	for i := range rows {
		rows[i].Hip = t.hips.shown(rows[i].Hip)
	}
	if err == nil {
		out, err = study.Liners(rows, o)
	}
	return out, bad, err
}
