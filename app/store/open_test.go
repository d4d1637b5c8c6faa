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

	"linerwatch/app/study"
)

// sqliteFile makes a database by other means than Open.
func sqliteFile(t *testing.T, path, statements string) {
	t.Helper()
	db := openAt(t, filepath.Join(t.TempDir(), "other"))
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
		{"text", func(t *testing.T, path string) {
			require.NoError(t, os.WriteFile(path, []byte("hip,years,penetration_mm\n"), 0o600))
		}, ErrNotStudy, "not a study file"},
		{"short", func(t *testing.T, path string) {
			require.NoError(t, os.WriteFile(path, []byte("SQLite"), 0o600))
		}, ErrNotStudy, "not a study file"},
		{"header only", func(t *testing.T, path string) {
			require.NoError(t, os.WriteFile(path, []byte(magic+strings.Repeat("\x7f", 4096)), 0o600))
		}, ErrNotStudy, "not a study file"},
		{"another program's database", func(t *testing.T, path string) {
			sqliteFile(t, path, "CREATE TABLE x.hip (id TEXT)")
		}, ErrNotStudy, "not a study file"},
		{"another program's empty database", func(t *testing.T, path string) {
			sqliteFile(t, path, "PRAGMA x.application_id = 7")
		}, ErrNotStudy, "not a study file"},
		{"newer", func(t *testing.T, path string) {
			sqliteFile(t, path, fmt.Sprintf("PRAGMA x.application_id = %d; PRAGMA x.user_version = 99", applicationID))
		}, ErrNewer, "written by a newer version of the program (file version 99, this program knows 6)"},
		{"damaged", func(t *testing.T, path string) {
			db, f := seeded(t, path)
			for i := range 20 {
				require.NoError(t, db.AddReading(t.Context(), aReading(fmt.Sprint(i), f)))
			}
			closed(t, db)
			b, err := os.ReadFile(path)
			require.NoError(t, err)
			for i := 3 * 4096; i < len(b); i++ {
				b[i] = 0xff
			}
			require.NoError(t, os.WriteFile(path, b, 0o600))
		}, ErrDamaged, "damaged; open a copy of it instead"},
		{"cut off", func(t *testing.T, path string) {
			db, f := seeded(t, path)
			for i := range 20 {
				require.NoError(t, db.AddReading(t.Context(), aReading(fmt.Sprint(i), f)))
			}
			closed(t, db)
			require.NoError(t, os.Truncate(path, 5*4096))
		}, ErrDamaged, "damaged; open a copy of it instead"},
		{"a folder", func(t *testing.T, path string) {
			require.NoError(t, os.Mkdir(path, 0o700))
		}, nil, "a folder, not a study file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "x.study")
			c.make(t, path)
			before, _ := os.ReadFile(path) // nothing for a folder
			db, err := Open(path)
			require.Nil(t, db)
			require.EqualError(t, err, "store: "+path+": "+c.want)
			if c.is != nil {
				require.ErrorIs(t, err, c.is)
			}
			after, _ := os.ReadFile(path)
			assert.Equal(t, before, after, "left as it was")
			assert.Equal(t, []string{"x.study"}, names(t, dir), "nothing left beside it")
		})
	}
}

func TestOpenWithoutAFolder(t *testing.T) {
	dir := t.TempDir()
	_, err := Open(filepath.Join(dir, "none", "x.study"))
	require.ErrorContains(t, err, "there is no such folder")
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err = Open(filepath.Join(file, "x.study"))
	require.Error(t, err)
	assert.NotContains(t, err.Error(), "\n")
}

func TestOpenEmptyFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.study")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	db, _ := seeded(t, path)
	closed(t, db)
}

func TestTwoOpeners(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "s.study")
	a, f := seeded(t, path)
	b := openAt(t, path)
	const each = 25
	var wg sync.WaitGroup
	errs := make([][]error, 2)
	for i, db := range []*DB{a, b} {
		wg.Go(func() {
			for n := range each {
				errs[i] = append(errs[i], db.AddReading(ctx, aReading(fmt.Sprintf("%d-%d", i, n), f)))
			}
		})
	}
	wg.Wait()
	for _, e := range append(errs[0], errs[1]...) {
		require.NoError(t, e)
	}
	for _, db := range []*DB{a, b} {
		got, err := db.Readings(ctx, "H1")
		require.NoError(t, err)
		assert.Len(t, got, 2*each, "each sees the other's")
	}
	closed(t, a)
	require.NoError(t, b.AddReading(ctx, aReading("last", f)))
	closed(t, b)
	assert.Equal(t, []string{"s.study"}, names(t, filepath.Dir(path)))
}

// Several programs that create the same study at once end with one study.
func TestOpenTogether(t *testing.T) {
	for range 5 {
		path := filepath.Join(t.TempDir(), "s.study")
		const n = 4
		var wg sync.WaitGroup
		errs := make([]error, n)
		for i := range n {
			wg.Go(func() {
				db, err := Open(path)
				if err != nil {
					errs[i] = err
					return
				}
				if errs[i] = db.SaveHip(t.Context(), study.Hip{ID: fmt.Sprint(i)}); errs[i] == nil {
					errs[i] = db.Close()
				}
			})
		}
		wg.Wait()
		for _, err := range errs {
			require.NoError(t, err)
		}
		db := openAt(t, path)
		hips, err := db.Hips(t.Context())
		require.NoError(t, err)
		assert.Len(t, hips, n)
		closed(t, db)
	}
}

// The settings that durability rests on are in force on an open study.
func TestPragmas(t *testing.T) {
	db := openAt(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	all, err := migrations()
	require.NoError(t, err)
	for pragma, want := range map[string]any{
		"journal_mode": "wal", "synchronous": int64(2), "foreign_keys": int64(1), "busy_timeout": int64(5000),
		"application_id": int64(applicationID), "user_version": int64(len(all)),
	} {
		var got any
		require.NoError(t, db.db.QueryRow("PRAGMA "+pragma).Scan(&got))
		assert.Equal(t, want, got, pragma)
	}
}

// A migration that fails leaves the file as the last good one made it.
func TestMigrationFails(t *testing.T) {
	db := openAt(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	all, err := migrations()
	require.NoError(t, err)
	n := len(all)
	all = append(all, "CREATE TABLE later (a TEXT)", "CREATE TABLE last (a TEXT); CREATE TABLE hip (a TEXT)")
	err = migrate(t.Context(), db.db, all)
	require.ErrorContains(t, err, fmt.Sprintf("migration %d: ", n+2))
	var version, tables int
	require.NoError(t, db.db.QueryRow("PRAGMA user_version").Scan(&version))
	assert.Equal(t, n+1, version)
	require.NoError(t, db.db.QueryRow("SELECT count(*) FROM sqlite_schema WHERE name IN ('later', 'last')").Scan(&tables))
	assert.Equal(t, 1, tables)
}
