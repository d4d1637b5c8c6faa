package central

import (
	"context"
	"database/sql"
	"errors"
	"strconv"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/stdlib"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

// DB is an open study on a server. It may be used by several goroutines, and by any number
// of programs on any number of machines at once.
type DB struct {
	store.Tables

	name     string // of database and host, for people
	db       *sql.DB
	readOnly bool
	own      atomic.Int64 // rows of the trail that were added here
}

var _ study.Store = (*DB)(nil)

// Most that is open at once: one writes, others read meanwhile.
const mostConnections = 4

// Open opens the study at an address. One of an earlier version of the program is brought to
// this one's form where its owner opens it, and refused with study.ErrEarlier else.
func Open(ctx context.Context, name string) (*DB, error) {
	return open(ctx, name, (*DB).upgrade)
}

// Look is Open of a study that is read and not written.
func Look(ctx context.Context, name string) (*DB, error) {
	s, err := open(ctx, name, (*DB).known)
	if err == nil {
		s.readOnly = true
	}
	return s, err
}

// Create makes a study in a database that has none, whose owner is the user of the address.
func Create(ctx context.Context, name string) (*DB, error) {
	return open(ctx, name, (*DB).create)
}

func open(ctx context.Context, name string, begin func(*DB, context.Context) error) (*DB, error) {
	address, err := addressOf(name)
	if err != nil {
		return nil, wrapped(err, "store.refused", "File", name)
	}
	config, err := configOf(address)
	if err != nil {
		return nil, wrapped(err, "store.refused", "File", study.SafeName(name))
	}
	s := &DB{name: config.Database + " on " + config.Host, db: stdlib.OpenDB(*config)}
	s.Tables = store.On(s)
	s.db.SetMaxOpenConns(mostConnections)
	s.db.SetConnMaxIdleTime(10 * time.Minute)
	if err := begin(s, ctx); err != nil {
		_ = s.db.Close() // the first error is the one to tell
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, wrapped(plain(err), "store.refused", "File", s.name)
	}
	return s, nil
}

// Main implements store.Base.
func (s *DB) Main() store.Querier { return asked{s.db} }

// Begin implements store.Base.
func (s *DB) Begin(ctx context.Context) (store.Moment, error) {
	tx, err := s.db.BeginTx(ctx, &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true})
	if err != nil {
		return nil, err
	}
	return moment{asked{tx}, tx}, nil
}

// writing is the lock that who writes to the study of this database holds. Advisory locks are
// a database's own.
const writing = "SELECT pg_advisory_xact_lock(1280799604)"

// Commit implements store.Base.
func (s *DB) Commit(ctx context.Context, doing study.Note, write func(tx store.Querier) error) error {
	if s.readOnly {
		return s.Fault(doing, store.ErrReadOnly)
	}
	if err := s.transact(ctx, write); err != nil {
		return s.Fault(doing, err)
	}
	return nil
}

func (s *DB) transact(ctx context.Context, write func(tx store.Querier) error) error {
	return s.transactSQL(ctx, func(tx *sql.Tx) error { return write(asked{tx}) })
}

func (s *DB) transactSQL(ctx context.Context, write func(tx *sql.Tx) error) (err error) {
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = tx.Rollback() // the first error is the one to tell
		}
	}()
	if err := lock(ctx, tx); err != nil {
		return err
	}
	before, err := trailEnd(ctx, tx)
	if err != nil {
		return err
	}
	if err := write(tx); err != nil {
		return err
	}
	after, err := trailEnd(ctx, tx)
	if err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	s.own.Add(after - before)
	return nil
}

// lock waits until nobody else writes to the study; with study.Impatient, no longer than that.
func lock(ctx context.Context, tx *sql.Tx) error {
	wait, some := study.Patience(ctx)
	if some {
		if err := patient(ctx, tx, max(wait, time.Millisecond)); err != nil {
			return err
		}
	}
	if _, err := tx.ExecContext(ctx, writing); err != nil || !some {
		return err
	}
	return patient(ctx, tx, 0)
}

// patient sets how long the statements of a transaction wait for a lock, 0 for however long.
func patient(ctx context.Context, tx *sql.Tx, wait time.Duration) error {
	_, err := tx.ExecContext(ctx, "SELECT set_config('lock_timeout', $1, true)", strconv.FormatInt(wait.Milliseconds(), 10))
	return err
}

func trailEnd(ctx context.Context, q store.Querier) (seq int64, err error) {
	err = q.QueryRowContext(ctx, "SELECT coalesce(max(seq), 0) FROM trail_end").Scan(&seq)
	return seq, err
}

// Version implements study.Store: the rows of the trail that others added. Drafts are in no
// row of it.
func (s *DB) Version(ctx context.Context) (int64, error) {
	own := s.own.Load()
	seq, err := trailEnd(ctx, s.db)
	if err != nil {
		return 0, s.Fault(named("store.version"), err)
	}
	return seq - own, nil
}

// Check implements study.Store; the server looks after its pages itself.
func (s *DB) Check(ctx context.Context) error {
	if err := s.db.PingContext(ctx); err != nil {
		return s.Fault(named("store.check"), err)
	}
	return nil
}

// SaveAs implements study.Store: the copy is a study file.
func (s *DB) SaveAs(ctx context.Context, path string) error {
	m, err := s.Begin(ctx)
	if err == nil {
		err = errors.Join(store.CreateOf(ctx, path, m), m.Rollback())
	}
	if err != nil {
		return s.Fault(named("store.save-as", "File", path), err)
	}
	return nil
}

// Close implements study.Store.
func (s *DB) Close() error {
	if err := s.db.Close(); err != nil {
		return s.Fault(named("store.close"), err)
	}
	return nil
}
