package central

import (
	"context"
	"time"

	"linerwatch/app/study"
)

// Files returns how studies are opened that are on a server, and others as local says.
func Files(local study.Files) study.Files {
	f := local
	f.Open = func(ctx context.Context, name string, tell study.Progress) (study.Store, error) {
		if IsAddress(name) {
			return orNone(Open(ctx, name))
		}
		return local.Open(ctx, name, tell)
	}
	f.Look = func(ctx context.Context, name string) (study.Store, error) {
		if IsAddress(name) {
			return orNone(Look(ctx, name))
		}
		return local.Look(ctx, name)
	}
	f.Create = func(name string) (study.Store, error) {
		if IsAddress(name) {
			return orNone(Create(context.Background(), name))
		}
		return local.Create(name)
	}
	f.Earlier = func(name string) bool { return !IsAddress(name) && local.Earlier(name) }
	f.Backups = func(name string) []string {
		if IsAddress(name) {
			return nil
		}
		return local.Backups(name)
	}
	f.Backup = func(ctx context.Context, name, dir string, now time.Time) (string, error) {
		if IsAddress(name) {
			return "", refused("central.backup")
		}
		return local.Backup(ctx, name, dir, now)
	}
	f.Copy = copyStudy
	f.Rewind = func(ctx context.Context, name, out string, to study.Then) (study.TrailRow, error) {
		if IsAddress(name) {
			return rewind(ctx, name, out, to)
		}
		return local.Rewind(ctx, name, out, to)
	}
	f.Merge = func(ctx context.Context, first, other, out string, sites [2]string, by study.Stamp) (study.Merged, error) {
		switch {
		case IsAddress(out):
			return study.Merged{}, refused("central.merge")
		case IsAddress(first) || IsAddress(other):
			return merge(ctx, first, other, out, sites, by)
		}
		return local.Merge(ctx, first, other, out, sites, by)
	}
	return f
}

// orNone returns no store with an error.
func orNone(db *DB, err error) (study.Store, error) {
	if err != nil {
		return nil, err
	}
	return db, nil
}
