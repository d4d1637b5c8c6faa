package store

import (
	"context"

	"linerwatch/app/study"
)

// Files returns how studies are opened and created in files of this package.
func Files() study.Files {
	return study.Files{
		Open: func(ctx context.Context, path string, tell study.Progress) (study.Store, error) {
			return orNone(OpenTold(ctx, path, tell))
		},
		Look: func(ctx context.Context, path string) (study.Store, error) {
			return orNone(Look(ctx, path))
		},
		Backup:  Backup,
		Backups: Backups,
		Salvage: Salvage,
		Merge:   Merge,
		Rewind:  Rewind,
		Create:  func(path string) (study.Store, error) { return orNone(Create(path)) },
		Earlier: Earlier,
	}
}

// orNone returns no store with an error.
func orNone(db *DB, err error) (study.Store, error) {
	if err != nil {
		return nil, err
	}
	return db, nil
}
