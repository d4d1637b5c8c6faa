package central

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// server returns the address of a server on which databases may be made.
func server(t testing.TB) string {
	t.Helper()
	address := os.Getenv("LINERWATCH_POSTGRES")
	if address == "" {
		t.Skip("needs a PostgreSQL server: run .ci/peers store")
	}
	return address
}

var made atomic.Int64

// database makes an empty database and returns its address.
func database(t testing.TB) string {
	t.Helper()
	name := fmt.Sprintf("study_%d_%d", os.Getpid(), made.Add(1))
	run(t, server(t), "CREATE DATABASE "+name)
	return to(t, server(t), func(u *url.URL) { u.Path = "/" + name })
}

// to returns an address that is changed.
func to(t testing.TB, address string, change func(u *url.URL)) string {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	change(u)
	return u.String()
}

// connected opens a database as it is.
func connected(t testing.TB, address string) *sql.DB {
	t.Helper()
	config, err := configOf(address)
	require.NoError(t, err)
	db := stdlib.OpenDB(*config)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}

func run(t testing.TB, address string, statements ...string) {
	t.Helper()
	db := connected(t, address)
	for _, s := range statements {
		_, err := db.ExecContext(t.Context(), s)
		require.NoError(t, err, s)
	}
}

func created(t testing.TB, address string) *DB {
	t.Helper()
	s, err := Create(t.Context(), address)
	require.NoError(t, err)
	return s
}

func opened(t testing.TB, address string) *DB {
	t.Helper()
	s, err := Open(t.Context(), address)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

var by = study.Stamp{Reader: "R1", At: time.Date(2026, 3, 1, 12, 30, 15, 0, time.UTC), Version: "0.1"}

// seeded makes a study with a hip and a film of it.
func seeded(t testing.TB, address string) (study.Hip, study.Film) {
	t.Helper()
	s := created(t, address)
	h, f := seed(t, s)
	require.NoError(t, s.Close())
	return h, f
}

func seed(t testing.TB, s study.Store) (study.Hip, study.Film) {
	t.Helper()
	ctx := t.Context()
	h, err := s.SaveHip(ctx, storetest.Hip(), by)
	require.NoError(t, err)
	f, err := s.SaveFilm(ctx, storetest.Film("a", "2004-06-14"), by)
	require.NoError(t, err)
	require.NoError(t, s.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, by))
	return h, f
}

func TestStore(t *testing.T) {
	server(t)
	storetest.Run(t, func(t *testing.T) study.Store { return created(t, database(t)) })
}

// The rows of a study have one form, and one hash, in a file and on a server.
func TestColumnsAreThoseOfAFile(t *testing.T) {
	address := database(t)
	require.NoError(t, created(t, address).Close())
	path := filepath.Join(t.TempDir(), "s.linerwatch")
	file, err := store.Create(path)
	require.NoError(t, err)
	require.NoError(t, file.Close())
	require.NoError(t, store.CopyTo(t.Context(), path, func(from store.Querier) error {
		for _, table := range strings.Fields("hip film link reading edges withdrawal exclusion draft setting site patient event grade reading_list unblinding variable value trail trail_end") {
			var lists [2][]string
			for i, q := range []store.Querier{from, connected(t, address)} {
				rows, err := q.QueryContext(t.Context(), "SELECT * FROM "+table)
				require.NoError(t, err)
				lists[i], err = rows.Columns()
				require.NoError(t, errors.Join(err, rows.Close()))
			}
			assert.Equal(t, lists[0], lists[1], table)
		}
		return nil
	}))
}

func TestOpening(t *testing.T) {
	address := database(t)
	_, err := Open(t.Context(), address)
	require.ErrorIs(t, err, study.ErrNotStudy)
	require.NoError(t, created(t, address).Close())
	_, err = Create(t.Context(), address)
	require.Contains(t, study.Told(err), "is a study already")
	run(t, address, "INSERT INTO form VALUES (99)")
	_, err = Open(t.Context(), address)
	require.ErrorIs(t, err, store.ErrNewer)
	_, err = Open(t.Context(), to(t, address, func(u *url.URL) { u.Path = "/nothing" }))
	require.Contains(t, study.Told(err), "no such database")
}

// Two clients accept one film under one code: the second is told.
func TestTwoAcceptOneFilm(t *testing.T) {
	address := database(t)
	h, f := seeded(t, address)
	a, b := opened(t, address), opened(t, address)
	for round := range 5 {
		latest := ""
		list, err := a.Readings(t.Context(), h.ID)
		require.NoError(t, err)
		if n := len(list); n > 0 {
			latest = list[n-1].ID
		}
		errs := make(chan error, 2)
		for name, s := range map[string]*DB{"a": a, "b": b} {
			go func() {
				r := storetest.Reading(fmt.Sprint(name, round), h, f)
				r.Supersedes = latest
				errs <- s.AddNext(context.Background(), r)
			}()
		}
		first, second := <-errs, <-errs
		if first == nil {
			first, second = second, first
		}
		require.ErrorIs(t, first, study.ErrReadSince)
		require.NoError(t, second)
	}
	list, err := a.Readings(t.Context(), h.ID)
	require.NoError(t, err)
	require.Len(t, list, 5)
	found, err := b.Audit(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
	assert.Equal(t, 5, found.Readings)
}

// What others save changes the version, what is saved here does not.
func TestVersion(t *testing.T) {
	address := database(t)
	h, _ := seeded(t, address)
	a, b := opened(t, address), opened(t, address)
	version := func(s *DB) int64 {
		v, err := s.Version(t.Context())
		require.NoError(t, err)
		return v
	}
	before := [2]int64{version(a), version(b)}
	h.Group = "B"
	_, err := a.SaveHip(t.Context(), h, by)
	require.NoError(t, err)
	assert.Equal(t, before[0], version(a))
	assert.NotEqual(t, before[1], version(b))
}

// Who does not want to wait for another program is told that it writes.
func TestImpatience(t *testing.T) {
	address := database(t)
	seeded(t, address)
	s := opened(t, address)
	tx, err := connected(t, address).BeginTx(t.Context(), nil)
	require.NoError(t, err)
	_, err = tx.ExecContext(t.Context(), writing)
	require.NoError(t, err)
	err = s.SetSetting(study.Impatient(t.Context(), 50*time.Millisecond), "k", "v", by)
	require.ErrorIs(t, err, study.ErrBusy)
	require.NoError(t, tx.Rollback())
	require.NoError(t, s.SetSetting(study.Impatient(t.Context(), 50*time.Millisecond), "k", "v", by))
}

// Many who write at once leave one chain, in the order of their commits.
func TestTrailOfMany(t *testing.T) {
	address := database(t)
	seeded(t, address)
	const each = 20
	errs := make(chan error)
	for client := range 4 {
		s := opened(t, address)
		go func() {
			for i := range each {
				if err := s.SetSetting(context.Background(), fmt.Sprint("key", client, i), "v", by); err != nil {
					errs <- err
					return
				}
			}
			errs <- nil
		}()
	}
	for range 4 {
		require.NoError(t, <-errs)
	}
	s := opened(t, address)
	found, err := s.Audit(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
	assert.EqualValues(t, 3+4*each, found.Changes)
}

// A connection that is lost while a reading is saved: it is told, nothing half is kept, and
// the next goes on.
func TestConnectionIsLost(t *testing.T) {
	ctx := t.Context()
	address := database(t)
	h, f := seeded(t, address)
	s := opened(t, address)
	err := s.Commit(ctx, named("store.add-reading", "Reading", "r1"), func(tx store.Querier) error {
		var pid int
		if err := tx.QueryRowContext(ctx, "SELECT pg_backend_pid()").Scan(&pid); err != nil {
			return err
		}
		if err := store.PutSetting(ctx, tx, "half", "kept", by); err != nil {
			return err
		}
		var done bool
		if err := connected(t, address).QueryRowContext(ctx, "SELECT pg_terminate_backend($1, 5000)", pid).Scan(&done); err != nil {
			return err
		}
		return tx.QueryRowContext(ctx, "SELECT 1").Scan(&pid)
	})
	require.ErrorIs(t, err, study.ErrAway)
	require.NotContains(t, study.Told(err), "\n")
	_, there, err := s.Setting(ctx, "half")
	require.NoError(t, err)
	require.False(t, there)
	require.NoError(t, s.AddNext(ctx, storetest.Reading("r1", h, f)))
	_, err = Open(ctx, to(t, address, func(u *url.URL) {
		u.Host = "127.0.0.1:1" // nobody listens
		u.RawQuery = ""
	}))
	require.ErrorIs(t, err, study.ErrAway)
}
