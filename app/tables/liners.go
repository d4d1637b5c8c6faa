package tables

import (
	"errors"
	"io"
	"strconv"

	"linerwatch/app/study"
)

// Vectors fits both components of each hip of a table together, as
// study.FitVector does: penetration_mm is the superior one, medial_mm the other,
// se_mm and medial_se_mm their standard errors where known. A hip with a bad row is
// not fitted.
func Vectors(r io.Reader, names Columns, start, direction float64) (out []study.Quantity, bad []*RowError, err error) {
	t, err := openTable(r, []string{"hip", "years", "penetration_mm", "medial_mm"}, []string{"se_mm", "medial_se_mm"}, names)
	if err != nil {
		return nil, nil, err
	}
	t.numbers = []string{"medial_mm"}
	if _, ok := t.column["medial_se_mm"]; ok {
		t.numbers = append(t.numbers, "medial_se_mm")
	}
	points := map[string][]study.VectorPoint{}
	spoilt := map[string]bool{}
	var order []string
	for {
		hip, p, fault, err := t.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, nil, err
		}
		v := study.VectorPoint{Point: p, MedialMM: t.values[0]}
		if len(t.values) > 1 {
			v.SEMedial = t.values[1]
			if v.SEMedial < 0 && fault == nil {
				fault = &RowError{t.line, names.named("medial_se_mm"), hip, note("cell.negative", study.Values{"Value": v.SEMedial})}
			}
		}
		if fault != nil {
			bad = append(bad, fault)
			spoilt[hip] = true
		}
		if hip == "" {
			continue
		}
		if points[hip] == nil {
			order = append(order, hip)
		}
		points[hip] = append(points[hip], v)
	}
	for _, hip := range order {
		if !spoilt[hip] {
			out = append(out, study.FitVector(hip, points[hip], start, direction)...)
		}
	}
	if len(out) == 0 && len(bad) == 0 {
		return nil, nil, errNoRows
	}
	return out, bad, nil
}

// Liners follows the liners of a table to their revision, as study.Liners does: one
// row for each liner with the columns hip, years and event, and group where named.
// With a bad row nothing is told.
func Liners(r io.Reader, names Columns, years []float64) (out []study.Quantity, bad []*RowError, err error) {
	also := []string{}
	if names["group"] != "" {
		also = append(also, "group")
	}
	t, err := openTable(r, []string{"hip", "years", "event"}, also, names)
	if err != nil {
		return nil, nil, err
	}
	rows, bad, err := whole(t, "hip", func(cell func(string) string, say func(column string, why study.Note)) study.LinerRow {
		l := study.LinerRow{Hip: cell("hip"), Group: cell("group")}
		var why study.Note
		if l.Years, why = t.number(cell("years")); !why.IsZero() {
			say("years", why)
		} else if l.Years < 0 {
			say("years", note("cell.early", study.Values{"Value": l.Years}))
		}
		var err error
		if l.Event, err = strconv.Atoi(cell("event")); err != nil || l.Event < 0 || l.Event > study.MaxEvent {
			say("event", note("cell.no-event", study.Values{"Text": cell("event"), "Most": float64(study.MaxEvent)}))
		}
		if len(also) > 0 && l.Group == "" {
			say("group", empty)
		}
		return l
	})
	if err == nil {
		out, err = study.Liners(rows, years)
	}
	return out, bad, err
}
