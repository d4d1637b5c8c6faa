package store

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"linerwatch/app/study"
)

// Rewind makes a study file at out of what the study at path held at an earlier point of its
// audit trail, and returns the last row that the new one's trail has. The trail has each change
// but those of outlines that nobody accepted: of these, those that were kept later are left
// out, and those that were replaced or dropped since are not brought back. What a study held
// before its trail was begun, or before it was salvaged, is not known.
func Rewind(ctx context.Context, path, out string, to study.Then) (last study.TrailRow, err error) {
	err = CopyTo(ctx, path, func(from Querier) error {
		last, err = RewindOf(ctx, from, out, to)
		return err
	})
	return last, err
}

// RewindOf is Rewind of one moment of a study.
func RewindOf(ctx context.Context, from Querier, out string, to study.Then) (study.TrailRow, error) {
	r := rewinder{from: from, was: map[[2]string]string{}}
	if err := r.seek(ctx, to); err != nil {
		return study.TrailRow{}, err
	}
	return r.last, createWith(ctx, out, func(into Querier) error { return r.write(ctx, into) })
}

// rewinder writes what a study held at a point of its trail.
type rewinder struct {
	from Querier
	was  map[[2]string]string // what each thing that was changed since was then, by what it is and its ID; empty for nothing
	last study.TrailRow       // of the trail then
	next time.Time            // outlines of this time and later are left out, where there is one
}

// seek finds the point in the trail, and what was changed since.
func (r *rewinder) seek(ctx context.Context, to study.Then) error {
	var later, back study.TrailRow // the first row after the point, and one behind it that is earlier by its clock
	early := int64(0)              // a row before which it is not known what there was
	err := trail(ctx, r.from, func(c study.TrailRow) error {
		if c.Why == beforeTrail || c.What == "study" && c.ID == "salvaged" {
			early = c.Seq
		}
		timed := to.Row == 0 && c.Why != beforeTrail && !c.At.IsZero()
		after := to.Row > 0 && c.Seq > to.Row || timed && c.At.After(to.At)
		switch {
		case later.Seq == 0 && !after:
			r.last = c
			return nil
		case later.Seq == 0:
			later = c
		case timed && !after:
			back = c
		}
		key := [2]string{c.What, c.ID}
		if _, ok := r.was[key]; !ok {
			r.was[key] = c.Old
		}
		return nil
	})
	switch {
	case err != nil:
		return err
	case to.Row > r.last.Seq:
		return refused("rewind.none", "Row", float64(to.Row), "Last", float64(r.last.Seq))
	case r.last.Seq == 0 || r.last.Seq < early:
		return refused("rewind.early", "Row", float64(max(early, 1)))
	case back.Seq > 0:
		return refused("rewind.clock", "Row", float64(back.Seq), "Last", float64(r.last.Seq))
	}
	if r.next = later.At; to.Row == 0 {
		r.next = to.At.Add(time.Nanosecond)
	}
	return nil
}

// write fills an empty study.
func (r *rewinder) write(ctx context.Context, into Querier) error {
	for _, t := range copiedTables() {
		if err := r.table(ctx, into, t[0], t[1]); err != nil {
			return err
		}
	}
	return trail(ctx, r.from, func(c study.TrailRow) error {
		if c.Seq > r.last.Seq {
			return nil
		}
		return putTrail(ctx, into, c)
	})
}

// table writes the rows of a table: those that were not changed since as they are, and of others
// what they were.
func (r *rewinder) table(ctx context.Context, into Querier, table, order string) error {
	if err := r.unchanged(ctx, into, table, order); err != nil {
		return err
	}
	for _, key := range slices.SortedFunc(maps.Keys(r.was), func(a, b [2]string) int { return slices.Compare(a[:], b[:]) }) {
		if text := r.was[key]; key[0] == table && text != "" {
			if err := putTold(ctx, into, table, text); err != nil {
				return err
			}
		}
	}
	return nil
}

// unchanged writes the rows of a table whose things the trail does not name after the point.
func (r *rewinder) unchanged(ctx context.Context, into Querier, table, order string) error {
	rows, err := r.from.QueryContext(ctx, ownedQuery(table, order))
	if err != nil {
		return err
	}
	defer rows.Close() // the error of Err is the one to tell
	names, err := rows.Columns()
	if err != nil {
		return err
	}
	for rows.Next() {
		values, err := scanCells(rows.Scan, len(names))
		if err != nil {
			return err
		}
		stays, err := r.stays(table, names[1:], values)
		if err != nil {
			return err
		}
		if !stays {
			continue
		}
		if err := insertRow(ctx, into, table, names[1:], values[1:]); err != nil {
			return err
		}
	}
	return rows.Err()
}

// stays reports whether a row, before whose values stands the ID of what it is of, was there
// as it is.
func (r *rewinder) stays(table string, names []string, values []any) (bool, error) {
	id := fmt.Sprint(values[0])
	switch table {
	case "edges":
		_, changed := r.was[[2]string{"reading", id}]
		return !changed, nil
	case "draft", "list_draft":
		before, changed := r.was[[2]string{map[string]string{"draft": "link", "list_draft": "reading_list"}[table], id}]
		text, _ := values[1+slices.Index(names, "at")].(string)
		at, err := parseTime(text)
		return (!changed || before != "") && (r.next.IsZero() || at.Before(r.next)), err
	}
	_, changed := r.was[[2]string{table, id}]
	return !changed, nil
}

// ownedQuery reads the rows of a table, before each the ID in the trail of what it is of.
func ownedQuery(table, order string) string {
	id := "id"
	switch {
	case table == "edges":
		return "SELECT reading.id AS known_as, edges.* FROM edges JOIN reading ON reading.seq = edges.reading ORDER BY reading.seq"
	case table == "draft":
		id = ofLink.id
	case table == "list_draft":
		id = "list_id"
	case isTracked(table):
		id = trackedOf(table).id
	}
	return fmt.Sprintf("SELECT CAST(%s AS TEXT) AS known_as, %s.* FROM %s ORDER BY %s", id, table, table, order)
}

// putTold puts in what the trail says that a thing was, or is.
func putTold(ctx context.Context, into Querier, what, text string) error {
	switch what {
	case "hip":
		var h study.Hip
		if err := decode(text, &h); err != nil {
			return err
		}
		return putHip(ctx, into, h)
	case "film":
		var f study.Film
		if err := decode(text, &f); err != nil {
			return err
		}
		return putFilm(ctx, into, f)
	}
	if !isTracked(what) {
		return study.ErrUnknown // the trail does not hold it whole
	}
	var row map[string]any
	if err := json.Unmarshal([]byte(text), &row); err != nil {
		return err
	}
	var names []string
	var values []any
	for name, value := range row {
		names, values = append(names, name), append(values, value)
	}
	return insertRow(ctx, into, what, names, values)
}
