package store

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// sqliteFile makes a database by other means than Create.
func sqliteFile(t *testing.T, path, statements string) {
	t.Helper()
	db := created(t, filepath.Join(t.TempDir(), "other"))
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	_, err := db.db.Exec("ATTACH ? AS x", path)
	require.NoError(t, err)
	_, err = db.db.Exec(statements)
	require.NoError(t, err)
	_, err = db.db.Exec("DETACH x")
	require.NoError(t, err)
	closed(t, db)
}

func TestOpenRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		make func(t *testing.T, path string)
		is   error
		want string
	}{
		{"nothing", func(*testing.T, string) {}, ErrNone, "there is no such file"},
		{"empty", func(t *testing.T, path string) {
			require.NoError(t, os.WriteFile(path, nil, 0o600))
		}, ErrEmpty, "an empty file: not a study file"},
		{"text", func(t *testing.T, path string) {
			require.NoError(t, os.WriteFile(path, []byte("hip,years,penetration_mm\n"), 0o600))
		}, study.ErrNotStudy, "not a study file"},
		{"short", func(t *testing.T, path string) {
			require.NoError(t, os.WriteFile(path, []byte("SQLite"), 0o600))
		}, study.ErrNotStudy, "not a study file"},
		{"header only", func(t *testing.T, path string) {
			require.NoError(t, os.WriteFile(path, []byte(magic+strings.Repeat("\x7f", 4096)), 0o600))
		}, study.ErrNotStudy, "not a study file"},
		{"another program's database", func(t *testing.T, path string) {
			sqliteFile(t, path, "CREATE TABLE x.hip (id TEXT)")
		}, study.ErrNotStudy, "not a study file"},
		{"another program's empty database", func(t *testing.T, path string) {
			sqliteFile(t, path, "PRAGMA x.application_id = 7")
		}, study.ErrNotStudy, "not a study file"},
		{"newer", func(t *testing.T, path string) {
			sqliteFile(t, path, fmt.Sprintf("PRAGMA x.application_id = %d; PRAGMA x.user_version = 99", applicationID))
		}, ErrNewer, fmt.Sprintf("written by a newer version of the program: file version 99, this program knows %d", len(migrations()))},
		{"a folder", func(t *testing.T, path string) {
			require.NoError(t, os.Mkdir(path, 0o700))
		}, nil, "a folder, not a study file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "x.study")
			c.make(t, path)
			before, _ := os.ReadFile(path) // nothing for a folder
			there := names(t, dir)
			db, err := Open(path)
			require.Nil(t, db)
			require.Equal(t, c.want+" (x.study)", study.Told(err))
			if c.is != nil {
				require.ErrorIs(t, err, c.is)
			}
			after, _ := os.ReadFile(path)
			assert.Equal(t, before, after, "left as it was")
			assert.Equal(t, there, names(t, dir), "nothing left beside it")
		})
	}
}

// Damage is found when the file is opened or by the check that follows.
func TestDamage(t *testing.T) {
	for name, harm := range map[string]func(b []byte) []byte{
		"pages overwritten": func(b []byte) []byte {
			for i := len(b) / 2; i < len(b); i++ {
				b[i] = 0xff
			}
			return b
		},
		"one page overwritten": func(b []byte) []byte {
			for i := range 4096 {
				b[len(b)/4096/2*4096+i] = 0x55
			}
			return b
		},
		"cut off": func(b []byte) []byte { return b[:len(b)/2] },
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "s.study")
			db, h, f := seeded(t, path)
			for i := range 20 {
				require.NoError(t, db.AddReading(t.Context(), storetest.Reading(fmt.Sprint(i), h, f)))
			}
			closed(t, db)
			b, err := os.ReadFile(path)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(path, harm(b), 0o600))
			db, err = Open(path)
			if err == nil {
				err = db.Check(t.Context())
				_ = db.Close() // a damaged file may not close in order
			}
			require.ErrorIs(t, err, study.ErrDamaged)
		})
	}
}

func TestCreate(t *testing.T) {
	dir := t.TempDir()
	for name, make := range map[string]func(path string) error{
		"a study":      func(path string) error { closed(t, created(t, path)); return nil },
		"text":         func(path string) error { return os.WriteFile(path, []byte("a"), 0o600) },
		"an empty one": func(path string) error { return os.WriteFile(path, nil, 0o600) },
		"a folder":     func(path string) error { return os.Mkdir(path, 0o700) },
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(dir, name)
			require.NoError(t, make(path))
			before, _ := os.ReadFile(path) // nothing for a folder
			_, err := Create(path)
			require.ErrorIs(t, err, ErrExists)
			require.Equal(t, "a file of this name exists already ("+name+")", study.Told(err))
			after, _ := os.ReadFile(path)
			assert.Equal(t, before, after)
		})
	}
	assert.Len(t, names(t, dir), 4, "nothing left beside them")
	_, err := Create(filepath.Join(dir, "none", "x.study"))
	require.Contains(t, study.Told(err), "there is no such folder")
	_, err = Open(filepath.Join(dir, "none", "x.study"))
	require.Contains(t, study.Told(err), "there is no such folder")
	_, err = Create(filepath.Join(dir, "text", "x.study"))
	require.Error(t, err)
	assert.NotContains(t, err.Error(), "\n")
}

// Of several programs that create the same study at once, one does, and the others are
// told that it is there.
func TestCreateTogether(t *testing.T) {
	for range 5 {
		path := filepath.Join(t.TempDir(), "s.study")
		const n = 4
		var wg sync.WaitGroup
		errs := make([]error, n)
		dbs := make([]*DB, n)
		for i := range n {
			wg.Go(func() {
				if dbs[i], errs[i] = Create(path); errs[i] == nil {
					_, errs[i] = dbs[i].SaveHip(t.Context(), study.Hip{Patient: "P"}, by)
				}
			})
		}
		wg.Wait()
		made := 0
		for i, err := range errs {
			if err == nil {
				made++
				closed(t, dbs[i])
				continue
			}
			require.ErrorIs(t, err, ErrExists)
		}
		require.Equal(t, 1, made)
		require.Equal(t, []string{"s.study"}, names(t, filepath.Dir(path)))
	}
}

func TestTwoOpeners(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "s.study")
	a, h, f := seeded(t, path)
	b := openAt(t, path)
	const each = 25
	var wg sync.WaitGroup
	errs := make([][]error, 2)
	for i, db := range []*DB{a, b} {
		wg.Go(func() {
			for n := range each {
				errs[i] = append(errs[i], db.AddReading(ctx, storetest.Reading(fmt.Sprintf("%d-%d", i, n), h, f)))
			}
		})
	}
	wg.Wait()
	for _, e := range append(errs[0], errs[1]...) {
		require.NoError(t, e)
	}
	for _, db := range []*DB{a, b} {
		got, err := db.Readings(ctx, h.ID)
		require.NoError(t, err)
		assert.Len(t, got, 2*each, "each sees the other's")
	}
	h.Implant.LinerMM = 8.5
	theirs, err := b.SaveHip(ctx, h, by)
	require.NoError(t, err)
	h.Implant.LinerMM, h.Group = 0, "C"
	_, err = a.SaveHip(ctx, h, by)
	require.Equal(t, &study.ConflictError{Mine: h, Theirs: theirs}, err, "and neither loses what the other saved")
	closed(t, a)
	require.NoError(t, b.AddReading(ctx, storetest.Reading("last", h, f)))
	closed(t, b)
	assert.Equal(t, []string{"s.study"}, names(t, filepath.Dir(path)))
}

// The settings that durability rests on are in force on an open study.
func TestPragmas(t *testing.T) {
	db := created(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	for pragma, want := range map[string]any{
		"journal_mode": "wal", "synchronous": int64(2), "foreign_keys": int64(1), "busy_timeout": int64(5000),
		"application_id": int64(applicationID), "user_version": int64(len(migrations())),
	} {
		var got any
		require.NoError(t, db.db.QueryRow("PRAGMA "+pragma).Scan(&got))
		assert.Equal(t, want, got, pragma)
	}
}

// Where one of several migrations fails, the file stays as it was before the first.
func TestMigrationFails(t *testing.T) {
	db := created(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	all := migrations()
	n := len(all)
	all = append(all, migration{"CREATE TABLE later (a TEXT)", nil}, migration{"CREATE TABLE last (a TEXT); CREATE TABLE hip (a TEXT)", nil})
	err := migrate(t.Context(), db.db, all, nil)
	require.Contains(t, study.Told(err), fmt.Sprintf("migration %d: ", n+2))
	var version, tables int
	require.NoError(t, db.db.QueryRow("PRAGMA user_version").Scan(&version))
	assert.Equal(t, n, version)
	require.NoError(t, db.db.QueryRow("SELECT count(*) FROM sqlite_schema WHERE name IN ('later', 'last')").Scan(&tables))
	assert.Zero(t, tables)
}

// A study that another program has locked is refused with one line.
func TestLocked(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for as long as a statement waits for another program")
	}
	path := filepath.Join(t.TempDir(), "s.study")
	db := created(t, path)
	closed(t, db)
	other, err := connect(path)
	require.NoError(t, err)
	_, err = other.Exec("PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE")
	require.NoError(t, err)
	_, err = Open(path)
	require.Equal(t, "another program is writing to it; try again (s.study)", study.Told(err))
	require.NoError(t, other.Close())
	closed(t, openAt(t, path))
}
