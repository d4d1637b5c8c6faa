package store

import (
	"context"
	"database/sql"
	"errors"

	"linerwatch/app/study"
)

// check is the check of the whole file that runs since it was opened.
type check struct {
	stop context.CancelFunc
	done chan struct{}
	err  error // once done is closed
}

// begin starts the check on a connection of its own.
func (s *DB) begin() error {
	db, err := s.connect()
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(context.Background())
	if err := db.PingContext(ctx); err != nil {
		stop()
		return errors.Join(err, db.Close())
	}
	s.check.stop, s.check.done = stop, make(chan struct{})
	changed := s.seen.at
	go func() {
		err := quickCheck(ctx, db)
		if err == nil {
			s.dueToday(ctx, changed, func() (*sql.DB, error) { return db, nil })
		}
		s.check.err = errors.Join(err, db.Close())
		close(s.check.done)
	}()
	return nil
}

func (c *check) end() {
	c.stop()
	<-c.done
}

// Check waits for the check that began when the study was opened. The error is
// study.ErrDamaged where the file is not sound, and ErrMoved where it is not at its place.
func (s *DB) Check(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return s.fault(named("store.check"), ctx.Err())
	case <-s.check.done:
	}
	s.comeBack(ctx)
	if s.check.err == nil {
		s.anotherDay(ctx)
	}
	s.foldLeft()
	return s.fault(named("store.check"), damaged(s.path, errors.Join(s.check.err, s.still())))
}

func quickCheck(ctx context.Context, db *sql.DB) error {
	var verdict string
	if err := db.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&verdict); err != nil {
		return err
	}
	if verdict != "ok" {
		return study.ErrDamaged
	}
	return nil
}
