package store

import (
	"context"
	"database/sql"
	"maps"
	"slices"

	"linerwatch/app/study"
)

// checkForm refuses a file of this version that lacks a table, a column, an index or a
// trigger of its form, or has another in its place: study.ErrDamaged.
func checkForm(ctx context.Context, db *sql.DB) error {
	want, err := freshSchema(ctx)
	if err != nil {
		return err
	}
	have, err := schema(ctx, db)
	if err != nil {
		return err
	}
	if names := lacking(want, have); len(names) > 0 {
		return wrapped(study.ErrDamaged, "store.form", "Name", names[0])
	}
	return nil
}

// lacking returns, in order, what a schema lacks or has otherwise.
func lacking(want, have map[string]string) (names []string) {
	for _, name := range slices.Sorted(maps.Keys(want)) {
		if have[name] != want[name] {
			names = append(names, name)
		}
	}
	return names
}
