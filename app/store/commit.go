package store

import (
	"context"
	"database/sql"
	"fmt"

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
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := write(tx); err != nil {
		_ = tx.Rollback() // the first error is the one to tell
		return err
	}
	s.kept.Store(false)
	if s.left.Load() {
		s.apart.Store(true)
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	s.fold()
	return nil
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
	if _, err := c.ExecContext(ctx, "PRAGMA busy_timeout = 0"); err != nil {
		return
	}
	var busy, log, done int
	if c.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &log, &done) == nil {
		s.unfolded.Store(busy != 0)
	}
	// The same statement has worked when the file was opened.
	_, _ = c.ExecContext(ctx, fmt.Sprintf("PRAGMA busy_timeout = %d", busyWait.Milliseconds()))
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
