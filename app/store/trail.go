package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"linerwatch/app/study"
)

// addTrail adds a row to the audit trail. All that the trail holds is written here, in the
// transaction of the change itself.
func addTrail(ctx context.Context, tx querier, c study.TrailRow) error {
	var before string
	err := tx.QueryRowContext(ctx, "SELECT seq, hash FROM trail_end").Scan(&c.Seq, &before)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	c.Seq++
	c.Hash = c.Sum(before)
	return putTrail(ctx, tx, c)
}

// putTrail writes a row at the end of the trail as it is.
func putTrail(ctx context.Context, tx querier, c study.TrailRow) error {
	if _, err := tx.ExecContext(ctx, `INSERT INTO trail (seq, at, reader, version, what, id, old, new, why, hash)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		c.Seq, formatTime(c.At), c.Reader, c.Version, c.What, c.ID, c.Old, c.New, c.Why, c.Hash); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO trail_end (one, seq, hash) VALUES (1, ?, ?) ON CONFLICT (one) DO UPDATE SET seq = excluded.seq, hash = excluded.hash",
		c.Seq, c.Hash)
	return err
}

// tracked is a table whose rows the trail holds whole.
type tracked struct {
	what  string // in the trail, and the table
	id    string // SQL of the ID in the trail
	stamp bool   // the rows are numbered, and say themselves who added them, when and with which version
}

var (
	ofLink       = tracked{"link", "hip_id || '/' || film_id", false}
	ofSetting    = tracked{"setting", "key", false}
	ofPatient    = tracked{"patient", "site || '/' || code", false}
	ofSite       = tracked{"site", "code", false}
	ofVariable   = tracked{"variable", "of || ' ' || name", false}
	ofValue      = tracked{"value", "of || ' ' || id || ' ' || name", false}
	ofEvent      = tracked{"event", "'E' || seq", true}
	ofGrade      = tracked{"grade", "seq", true}
	ofExclusion  = tracked{"exclusion", "seq", true}
	ofWithdrawal = tracked{"withdrawal", "seq", true}
	ofList       = tracked{"reading_list", "id", true}
	ofUnblinding = tracked{"unblinding", "list_id", true}
)

// allTracked returns every such table. One is added by its line here, and by what writes to
// it doing so within traced.
func allTracked() []tracked {
	return []tracked{ofSite, ofPatient, ofLink, ofSetting, ofVariable, ofValue, ofEvent, ofGrade, ofExclusion, ofWithdrawal,
		ofList, ofUnblinding}
}

// trackedRow is a row of such a table, as the trail holds it.
type trackedRow struct{ id, json string }

// rows reads those that where leaves, in the order of their numbers or IDs.
func (k tracked) rows(ctx context.Context, q querier, where string, args ...any) (out []trackedRow, err error) {
	err = k.each(ctx, q, func(r trackedRow) { out = append(out, r) }, where, args...)
	return out, err
}

// each hands them over one after the other.
func (k tracked) each(ctx context.Context, q querier, take func(trackedRow), where string, args ...any) error {
	order := k.id
	if k.stamp {
		order = "seq"
	}
	return rowTexts(ctx, q, take, fmt.Sprintf("SELECT CAST(%s AS TEXT) AS known_as, * FROM %s %s ORDER BY %s", k.id, k.what, where, order), args)
}

// rowTexts reads rows of which the first column is the ID, and the others are written as JSON, by
// name.
func rowTexts(ctx context.Context, q querier, take func(trackedRow), query string, args []any) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	names, err := rows.Columns()
	if err != nil {
		return errors.Join(err, rows.Close())
	}
	for rows.Next() {
		values := make([]any, len(names))
		to := make([]any, len(names))
		for i := range values {
			to[i] = &values[i]
		}
		if err := rows.Scan(to...); err != nil {
			return errors.Join(err, rows.Close())
		}
		text, err := rowText(names[1:], values[1:])
		if err != nil {
			return errors.Join(err, rows.Close())
		}
		take(trackedRow{fmt.Sprint(values[0]), text})
	}
	return errors.Join(rows.Err(), rows.Close())
}

// rowText writes a row as a JSON object in the order of its columns.
func rowText(names []string, values []any) (string, error) {
	text := []byte("{")
	for i, name := range names {
		key, err := json.Marshal(name)
		if err != nil {
			return "", err
		}
		value, err := json.Marshal(values[i])
		if err != nil {
			return "", err
		}
		if i > 0 {
			text = append(text, ',')
		}
		text = slices.Concat(text, key, []byte(":"), value)
	}
	return string(append(text, '}')), nil
}

// traced lets write change rows of a table that where finds, before or after, and adds to
// the trail what each was and is. Where nothing changes, nothing is added.
func traced(ctx context.Context, tx querier, k tracked, by study.Stamp, write func() error, where string, args ...any) error {
	old, err := k.rows(ctx, tx, where, args...)
	if err != nil {
		return err
	}
	if err := write(); err != nil {
		return err
	}
	now, err := k.rows(ctx, tx, where, args...)
	if err != nil {
		return err
	}
	was := map[string]string{}
	for _, r := range old {
		was[r.id] = r.json
	}
	for _, r := range now {
		if before := was[r.id]; before != r.json {
			if err := addTrail(ctx, tx, study.TrailRow{Stamp: by, What: k.what, ID: r.id, Old: before, New: r.json}); err != nil {
				return err
			}
		}
		delete(was, r.id)
	}
	for _, r := range old {
		if _, gone := was[r.id]; gone {
			if err := addTrail(ctx, tx, study.TrailRow{Stamp: by, What: k.what, ID: r.id, Old: r.json}); err != nil {
				return err
			}
		}
	}
	return nil
}

// tracedExec is traced of one statement.
func tracedExec(ctx context.Context, tx querier, k tracked, by study.Stamp, where string, whereArgs []any, statement string, args ...any) error {
	return traced(ctx, tx, k, by, func() error {
		_, err := tx.ExecContext(ctx, statement, args...)
		return err
	}, where, whereArgs...)
}

// inserted executes an INSERT into a table whose rows are numbered, and adds the row to the
// trail. It returns its number.
func inserted(ctx context.Context, tx querier, k tracked, by study.Stamp, statement string, args ...any) (seq int64, err error) {
	if err := tx.QueryRowContext(ctx, statement+" RETURNING seq", args...).Scan(&seq); err != nil {
		return 0, err
	}
	rows, err := k.rows(ctx, tx, "WHERE seq = ?", seq)
	if err != nil {
		return 0, err
	}
	for _, r := range rows {
		if err := addTrail(ctx, tx, study.TrailRow{Stamp: by, What: k.what, ID: r.id, New: r.json}); err != nil {
			return 0, err
		}
	}
	return seq, nil
}

// addChange adds to the trail what a hip or film was and is.
func addChange(ctx context.Context, tx querier, what, id string, before, now any, by study.Stamp) error {
	c := study.TrailRow{Stamp: by, What: what, ID: id}
	for _, v := range []struct {
		of any
		to *string
	}{{before, &c.Old}, {now, &c.New}} {
		if v.of == nil {
			continue
		}
		text, err := encode(v.of)
		if err != nil {
			return err
		}
		*v.to = text[0]
	}
	return addTrail(ctx, tx, c)
}

// Disclosures implements study.Store.
func (s *Tables) Disclosures(ctx context.Context) ([]study.Disclosure, error) {
	list, err := collect(ctx, s.main(), "SELECT "+trailColumns+" FROM trail WHERE what = ? ORDER BY seq", []any{study.DisclosureRow},
		func(scan scanner) (study.Disclosure, error) {
			row, err := scanChange(scan)
			return study.DisclosureOf(row), err
		})
	if err != nil {
		return nil, s.fault(named("store.read-study"), err)
	}
	return list, nil
}

// AddDisclosure implements study.Store.
func (s *Tables) AddDisclosure(ctx context.Context, d study.Disclosure) error {
	return s.commit(ctx, named("store.disclose"), func(tx querier) error {
		var n int
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM trail WHERE what = ?", study.DisclosureRow).Scan(&n); err != nil {
			return err
		}
		return addChange(ctx, tx, study.DisclosureRow, fmt.Sprint("D", n+1), nil, d, d.Stamp)
	})
}

// orNil returns nothing for a hip or film that was not there.
func orNil[T any](v T, revision int) any {
	if revision == 0 {
		return nil
	}
	return v
}

// changes reads what a hip or film was. What was there before the trail, of which nobody
// knows who entered it, is not among it.
func changes[T any](ctx context.Context, s *Tables, what, id string, read func(before string, by study.Stamp) (T, error)) ([]T, error) {
	list, err := collect(ctx, s.main(), `SELECT old, reader, at, version, why FROM trail WHERE what = ? AND id = ?
		AND new <> '' AND NOT (old = '' AND at = '' AND reader = '') ORDER BY seq`, []any{what, id}, func(scan scanner) (c T, err error) {
		var before, at string
		var by study.Stamp
		if err := scan(&before, &by.Reader, &at, &by.Version, &by.Why); err != nil {
			return c, err
		}
		if by.At, err = parseTime(at); err != nil {
			return c, err
		}
		if before == "" {
			before = "{}"
		}
		return read(before, by)
	})
	if err != nil {
		return nil, s.fault(named("store.read-changes", "Of", what, "ID", short(id)), err)
	}
	return list, nil
}

func scanChange(scan scanner) (c study.TrailRow, err error) {
	var at string
	if err = scan(&c.Seq, &at, &c.Reader, &c.Version, &c.What, &c.ID, &c.Old, &c.New, &c.Why, &c.Hash); err != nil {
		return c, err
	}
	c.At, err = parseTime(at)
	return c, err
}

// Trail implements study.Store.
func (s *Tables) Trail(ctx context.Context, each func(study.TrailRow) error) error {
	tx, err := s.base.Begin(ctx)
	if err != nil {
		return s.fault(named("store.read-trail"), err)
	}
	var own error
	err = trail(ctx, tx, func(c study.TrailRow) error { own = each(c); return own })
	if err = errors.Join(err, tx.Rollback()); err != nil && own == nil {
		return s.fault(named("store.read-trail"), err)
	}
	return own
}

// TrailEnd implements study.Store.
func (s *Tables) TrailEnd(ctx context.Context) (seq int64, hash string, err error) {
	err = s.main().QueryRowContext(ctx, "SELECT seq, hash FROM trail_end").Scan(&seq, &hash)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, "", s.fault(named("store.read-trail"), err)
	}
	return seq, hash, nil
}

const trailColumns = "seq, at, reader, version, what, id, old, new, why, hash" // of scanChange

// trailRow reads a row of the trail.
func trailRow(ctx context.Context, q querier, seq int64) (study.TrailRow, error) {
	return scanChange(q.QueryRowContext(ctx, "SELECT "+trailColumns+" FROM trail WHERE seq = ?", seq).Scan)
}

func trail(ctx context.Context, q querier, each func(study.TrailRow) error) error {
	rows, err := q.QueryContext(ctx, "SELECT "+trailColumns+" FROM trail ORDER BY seq")
	if err != nil {
		return err
	}
	for rows.Next() {
		c, err := scanChange(rows.Scan)
		if err == nil {
			err = each(c)
		}
		if err != nil {
			return errors.Join(err, rows.Close())
		}
	}
	return errors.Join(rows.Err(), rows.Close())
}
