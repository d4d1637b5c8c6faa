package store

import (
	"context"
	"database/sql"
	"errors"
	"maps"
	"slices"

	"linerwatch/app/study"
)

// Sound implements Base: what SQLite finds in its file, and tables, indexes and triggers that
// are otherwise than in a new study.
func (f onFile) Sound(ctx context.Context, q Querier) (wrong []study.Note, last int64, err error) {
	for _, look := range []func(context.Context, querier) ([]study.Note, error){wrongPages, orphans, guards} {
		list, err := look(ctx, q)
		if err != nil {
			return nil, 0, err
		}
		wrong = append(wrong, list...)
	}
	err = q.QueryRowContext(ctx, "SELECT seq FROM sqlite_sequence WHERE name = 'trail'").Scan(&last)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return wrong, last, err
}

// wrongPages asks SQLite whether its file is sound.
func wrongPages(ctx context.Context, q querier) (wrong []study.Note, err error) {
	list, err := collect(ctx, q, "PRAGMA integrity_check(20)", nil, func(scan scanner) (text string, err error) { err = scan(&text); return text, err })
	for _, text := range list {
		if text != "ok" {
			wrong = append(wrong, named("audit.database", "Text", text))
		}
	}
	return wrong, err
}

// orphans are rows that name others which are not there.
func orphans(ctx context.Context, q querier) ([]study.Note, error) {
	return collect(ctx, q, "PRAGMA foreign_key_check", nil, func(scan scanner) (study.Note, error) {
		var table, parent string
		var row sql.NullInt64
		var key int
		err := scan(&table, &row, &parent, &key)
		return named("audit.orphan", "Table", table, "Row", float64(row.Int64), "Parent", parent), err
	})
}

// guards compares tables, indexes and triggers with those of a new study.
func guards(ctx context.Context, q querier) (wrong []study.Note, err error) {
	want, err := freshSchema(ctx)
	if err != nil {
		return nil, err
	}
	have, err := schema(ctx, q)
	if err != nil {
		return nil, err
	}
	for _, name := range lacking(want, have) {
		wrong = append(wrong, named("audit.guard", "Name", name))
	}
	for _, name := range slices.Sorted(maps.Keys(have)) {
		if _, ok := want[name]; !ok {
			wrong = append(wrong, named("audit.stranger", "Name", name))
		}
	}
	return wrong, nil
}

// schema returns the SQL of each table, index and trigger by kind and name.
func schema(ctx context.Context, q querier) (map[string]string, error) {
	out := map[string]string{}
	_, err := collect(ctx, q, "SELECT type || ' ' || name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'", nil, func(scan scanner) (none struct{}, err error) {
		var name string
		var text sql.NullString
		err = scan(&name, &text)
		out[name] = text.String
		return none, err
	})
	return out, err
}

func freshSchema(ctx context.Context) (_ map[string]string, err error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	db.SetMaxOpenConns(1)
	if err := migrate(ctx, db, migrations(), nil); err != nil {
		return nil, err
	}
	return schema(ctx, db)
}
