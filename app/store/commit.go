package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"linerwatch/app/study"
)

// commit runs write in a transaction. It returns without an error once the commit is on
// the disk, in a file that is still at its place.
func (s *DB) commit(ctx context.Context, doing study.Note, write func(tx *sql.Tx) error) error {
	if s.readOnly {
		return s.fault(doing, ErrReadOnly)
	}
	s.leaveMoved(ctx)
	if err := s.transact(ctx, write); err != nil {
		return s.fault(doing, err)
	}
	if err := s.still(); err != nil {
		s.leaveMoved(ctx)
		return s.fault(doing, err)
	}
	return nil
}

func (s *DB) transact(ctx context.Context, write func(tx *sql.Tx) error) error {
	s.writing.RLock()
	defer s.writing.RUnlock()
	tx, end, err := s.beginWrite(ctx)
	if err != nil {
		return err
	}
	if err := write(tx); err != nil {
		_ = tx.Rollback() // the first error is the one to tell
		end()
		return err
	}
	s.kept.Store(false)
	if s.left.Load() {
		s.apart.Store(true)
	}
	err = tx.Commit()
	end() // fold takes the connection
	if err != nil {
		return err
	}
	s.fold()
	return nil
}

// beginWrite begins a transaction that writes, once nobody else writes; end comes after it. With
// study.Impatient it waits no longer than that, for another program and for this one.
func (s *DB) beginWrite(ctx context.Context) (tx *sql.Tx, end func(), err error) {
	wait, some := study.Patience(ctx)
	if !some {
		tx, err = s.db.BeginTx(ctx, nil)
		return tx, func() {}, err
	}
	soon, stop := context.WithTimeout(ctx, wait)
	defer stop()
	c, err := s.db.Conn(soon)
	if err != nil {
		if ctx.Err() == nil {
			err = study.ErrBusy
		}
		return nil, nil, err
	}
	if err = waits(ctx, c, wait); err == nil {
		if tx, err = c.BeginTx(ctx, nil); err == nil {
			if err = waits(ctx, tx, busyWait); err == nil {
				return tx, func() { _ = c.Close() }, nil // it goes back to where it came from
			}
			_ = tx.Rollback()
		}
	}
	err = errors.Join(err, waits(ctx, c, busyWait), c.Close())
	return nil, nil, err
}

// waits sets how long the statements of a connection wait for another program.
func waits(ctx context.Context, c interface {
	ExecContext(context.Context, string, ...any) (sql.Result, error)
}, d time.Duration) error {
	_, err := c.ExecContext(ctx, fmt.Sprintf("PRAGMA busy_timeout = %d", d.Milliseconds()))
	return err
}

// Version implements study.Store. It is SQLite's data version of the one connection that
// writes, which what that connection commits does not change.
func (s *DB) Version(ctx context.Context) (v int64, err error) {
	if err := s.main().QueryRowContext(ctx, "PRAGMA data_version").Scan(&v); err != nil {
		return 0, s.fault(named("store.version"), err)
	}
	return v, nil
}

// fold brings the write-ahead log into the file and empties it, so that a plain copy of
// the file is whole, without waiting for whoever reads at the moment: what cannot be
// folded in stays in the log, where it is as safe, until fold is called again.
func (s *DB) fold() {
	ctx := context.Background()
	s.unfolded.Store(true)
	c, err := s.db.Conn(ctx)
	if err != nil {
		return
	}
	defer func() { _ = c.Close() }() // goes back to where it came from
	if waits(ctx, c, 0) != nil {
		return
	}
	var busy, log, done int
	if c.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &log, &done) == nil {
		s.unfolded.Store(busy != 0)
	}
	// The same statement has worked when the file was opened.
	_ = waits(ctx, c, busyWait)
}

// foldLeft folds in what a reader of this program kept from it.
func (s *DB) foldLeft() {
	if s.readOnly {
		return
	}
	s.writing.RLock()
	defer s.writing.RUnlock()
	if s.unfolded.Load() && s.still() == nil {
		s.fold()
	}
}
