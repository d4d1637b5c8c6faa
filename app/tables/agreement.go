package tables

import (
	"cmp"
	"io"
	"maps"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// exported are the columns by which the readings of a study's export, and its penetrations,
// are known. A row of it is a reading or what stands for one, which the column row says where
// there is one, and a film is one of each of its hips.
var exported = []string{"reading_id", "supersedes", "withdrawn", "left_out_code"}

// Agreement judges a table of readings with the columns target, reader and
// value, and owner where one is named; a target is a hip where none is. With a bad row
// nothing is judged. Rows of which one of these is NA are passed over.
//
// In the readings of a study's export a target is a film of a hip, and a row counts
// that is a reading and none of an adjudication, stands, is of a film that is not left out,
// and is superseded by none that stands. Readings of one reader of which none supersedes the other are
// repeats. How many rows were passed over, and why, is at the end of the quantities,
// or in the error.
func Agreement(r io.Reader, names Columns, unit string) (out []study.Quantity, bad []*RowError, err error) {
	t, header, err := openHeader(r)
	if err != nil {
		return nil, nil, err
	}
	ofStudy := isExport(header)
	names = agreeColumns(names, ofStudy)
	var also []string
	if names["owner"] != "" {
		also = []string{"owner"}
	}
	if ofStudy {
		also = append(append(also, "row", "list_kind"), exported...)
	}
	if err := t.find(header, []string{"target", "reader", "value"}, also, names); err != nil {
		return nil, nil, err
	}
	rows, bad, err := whole(t, "target", func(cell func(string) string, say func(column string, why study.Note)) agreeRow {
		return t.agreeRow(cell, say)
	})
	if err != nil {
		return nil, bad, err
	}
	kept, passed := standing(rows)
	out, err = study.Agreement(kept, unit)
	if err != nil && len(passed) > 0 {
		return nil, nil, study.WrapError(err, "agreement.after-passing", study.Values{"Why": study.NoteOf(err), "Passed": strings.Join(study.NotesWords(passed), "; ")})
	}
	for _, why := range passed {
		out = append(out, study.Quantity{Model: "the table", Name: "rows passed over", Value: why.Values["N"].(float64), Note: why})
	}
	return out, nil, err
}

// isExport reports whether the header is that of the readings of a study's export.
func isExport(header []string) bool {
	return !slices.ContainsFunc(append([]string{"hip_id", "film_id"}, exported...), func(name string) bool {
		return !slices.Contains(header, name)
	})
}

// agreeColumns completes the names of the columns.
func agreeColumns(names Columns, ofStudy bool) Columns {
	out := Columns{}
	maps.Copy(out, names)
	if ofStudy && names["target"] == "" {
		out["target"], out["owner"] = "film_id", cmp.Or(names["owner"], "hip_id")
	}
	for name, own := range map[string]string{"target": "hip", "reader": "reader", "value": "penetration_mm"} {
		out[name] = cmp.Or(out[name], own)
	}
	return out
}

// agreeRow is a row of a table of readings.
type agreeRow struct {
	study.AgreeRow
	passed         study.Note // why it does not count; zero where it does
	id, supersedes string     // of a reading in an export
}

func (t *table) agreeRow(cell func(string) string, say func(column string, why study.Note)) agreeRow {
	a := agreeRow{AgreeRow: study.AgreeRow{Target: cell("target"), Reader: cell("reader"), Of: cell("owner")}, id: cell("reading_id"), supersedes: cell("supersedes")}
	if a.passed = t.notReading(cell); !a.passed.IsZero() {
		return a
	}
	if _, ok := t.column["owner"]; ok && a.Of == "" {
		say("owner", empty)
	}
	if a.Reader == "" {
		say("reader", empty)
	}
	var why study.Note
	if a.Value, why = t.number(cell("value")); !why.IsZero() {
		say("value", why)
	}
	if t.names["target"] == "film_id" && a.id != "" {
		a.Target = a.Of + " " + a.Target // a film of two hips is two targets
	}
	return a
}

// notReading says why a row is no reading that can count; zero where it is one.
func (t *table) notReading(cell func(string) string) study.Note {
	given := func(name string) bool { return cell(name) != "" && cell(name) != notKnown }
	if _, ofStudy := t.column["withdrawn"]; ofStudy {
		_, rows := t.column["row"]
		switch {
		case rows && cell("row") != "reading":
			return note("agreement.no-reading", nil)
		case cell("withdrawn") == "1":
			return note("agreement.withdrawn", nil)
		case given("left_out_code"):
			return note("agreement.left-out", nil)
		case t.adjudication(cell):
			return note("agreement.adjudicated", nil)
		}
	}
	for _, name := range []string{"target", "owner", "reader", "value"} {
		if cell(name) == notKnown {
			return note("agreement.na", study.Values{"Column": t.names.named(name)})
		}
	}
	return study.Note{}
}

// adjudication reports whether a row is a reading by which others were judged.
func (t *table) adjudication(cell func(string) string) bool {
	_, lists := t.column["list_kind"]
	return lists && cell("list_kind") == string(study.AdjudicateList)
}

// standing returns the rows that count, and how many were passed over for which reason,
// in the order of the reasons' first rows. A reading is superseded by one that stands
// also through others between them, whether these stand or not.
func standing(rows []agreeRow) (kept []study.AgreeRow, passed []study.Note) {
	before := map[string]string{}
	for _, a := range rows {
		if a.id != "" && a.supersedes != "" && a.supersedes != notKnown {
			before[a.id] = a.supersedes
		}
	}
	replaced := map[string]bool{}
	for _, a := range rows {
		if a.passed.Code == "agreement.withdrawn" {
			continue
		}
		for id := before[a.id]; id != "" && !replaced[id]; id = before[id] {
			replaced[id] = true
		}
	}
	of := counts{of: map[string]int{}}
	why := map[string]study.Note{}
	for _, a := range rows {
		if a.passed.IsZero() && a.id != "" && replaced[a.id] {
			a.passed = note("agreement.superseded", nil)
		}
		if a.passed.IsZero() {
			kept = append(kept, a.AgreeRow)
			continue
		}
		key := a.passed.Code
		if column, ok := a.passed.Values["Column"].(string); ok {
			key += " " + column
		}
		of.add(key)
		why[key] = a.passed
	}
	for _, key := range of.order {
		n := why[key]
		v := study.Values{"N": float64(of.of[key])}
		maps.Copy(v, n.Values)
		passed = append(passed, note(n.Code, v))
	}
	return kept, passed
}
