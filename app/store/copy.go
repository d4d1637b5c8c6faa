package store

import (
	"context"
	"errors"
	"path/filepath"
	"slices"

	"linerwatch/app/study"
)

// CreateOf makes a study file at path with all that another study holds at one moment, row
// for row, its audit trail among it. It refuses to replace a file.
func CreateOf(ctx context.Context, path string, from Querier) error {
	return createWith(ctx, path, func(to Querier) error { return CopyRows(ctx, from, to) })
}

// createWith makes a study file at path of what fill writes.
func createWith(ctx context.Context, path string, fill func(to Querier) error) error {
	if err := checkFolder(filepath.Dir(path)); err != nil {
		return err
	}
	return place(path, func(part string) (err error) {
		if err := makeEmpty(part); err != nil {
			return err
		}
		db, err := connect(part)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, db.Close()) }()
		if err := migrate(ctx, db, migrations(), nil); err != nil {
			return err
		}
		tx, err := db.BeginTx(ctx, nil)
		if err != nil {
			return err
		}
		if err := fill(tx); err != nil {
			return errors.Join(err, tx.Rollback())
		}
		return tx.Commit()
	})
}

// CopyTo hands the study to write as it is at one moment.
func CopyTo(ctx context.Context, path string, write func(from Querier) error) (err error) {
	s, err := Look(ctx, path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if err := s.Check(ctx); err != nil {
		return err
	}
	m, err := s.base.Begin(ctx)
	if err != nil {
		return s.fault(named("store.read-study"), err)
	}
	return errors.Join(write(m), m.Rollback())
}

// copiedTables are the tables of a study with the order in which their rows are copied: what
// others name comes first. One is added by its line here.
func copiedTables() [][2]string {
	return [][2]string{
		{"site", "code"}, {"patient", "site, code"}, {"hip", "id"}, {"film", "id"}, {"link", "hip_id, film_id"}, {"setting", "key"},
		{"variable", "of, name"}, {"value", "of, id, name"}, {"reading", "seq"}, {"edges", "reading"}, {"withdrawal", "seq"},
		{"exclusion", "seq"}, {"grade", "seq"}, {"event", "seq"}, {"reading_list", "seq"}, {"unblinding", "seq"}, {"draft", "hip_id, film_id, kind"}, {"list_draft", "list_id, place"},
	}
}

// CopyRows copies every row of a study to an empty one, but for those of the tables in without.
// The two have the same columns in the same order.
func CopyRows(ctx context.Context, from, to Querier, without ...string) error {
	if err := copyTables(ctx, from, to, func(table string) bool { return !slices.Contains(without, table) }); err != nil {
		return err
	}
	return trail(ctx, from, func(row study.TrailRow) error { return putTrail(ctx, to, row) })
}

// CopyOnly copies every row of some tables, and nothing of the trail.
func CopyOnly(ctx context.Context, from, to Querier, tables ...string) error {
	return copyTables(ctx, from, to, func(table string) bool { return slices.Contains(tables, table) })
}

func copyTables(ctx context.Context, from, to Querier, is func(table string) bool) error {
	for _, t := range copiedTables() {
		if !is(t[0]) {
			continue
		}
		if err := copyTable(ctx, from, to, t[0], t[1]); err != nil {
			return err
		}
	}
	return nil
}

func copyTable(ctx context.Context, from, to Querier, table, order string) error {
	rows, err := from.QueryContext(ctx, "SELECT * FROM "+table+" ORDER BY "+order)
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
		if err := insertRow(ctx, to, table, names, values); err != nil {
			return err
		}
	}
	return rows.Err()
}
