package store

import (
	"context"
	"database/sql"

	"linerwatch/app/study"
)

// Tables is a study in the tables of a database: what is the same of all that speak SQL.
// Statements have ? for their values, texts are in the order of their bytes, and columns
// are of whole numbers, 64-bit floating-point numbers, texts and bytes alone, so that a row
// has one form, and one hash, wherever it is.
type Tables struct{ base Base }

// On returns the study in the tables of a database.
func On(base Base) Tables { return Tables{base} }

// Base is a database that has the tables of a study.
type Base interface {
	// Main returns what is asked for all but what Begin is for.
	Main() Querier
	// Commit runs write in a transaction. Those of a study come one after the other, however
	// many write to it. It returns without an error once the commit is on the disk.
	Commit(ctx context.Context, doing study.Note, write func(tx Querier) error) error
	// Begin begins to read the study as it is at one moment.
	Begin(ctx context.Context) (Moment, error)
	// Sound returns what is wrong with the database itself, and the highest number that a
	// row of the trail ever had, as far as it is known apart from the trail.
	Sound(ctx context.Context, q Querier) (wrong []study.Note, last int64, err error)
	// Fault says what was being done when err happened.
	Fault(doing study.Note, err error) error
}

// Querier is a connection or a transaction.
type Querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
}

type querier = Querier

// Moment is one moment of a study; it is read until Rollback.
type Moment interface {
	Querier
	Rollback() error
}

func (s *Tables) main() querier { return s.base.Main() }

func (s *Tables) fault(doing study.Note, err error) error { return s.base.Fault(doing, err) }

func (s *Tables) commit(ctx context.Context, doing study.Note, write func(tx querier) error) error {
	return s.base.Commit(ctx, doing, write)
}

// onFile is the database of a study file.
type onFile struct{ *DB }

func (f onFile) Main() Querier { return f.main() }

func (f onFile) Commit(ctx context.Context, doing study.Note, write func(tx Querier) error) error {
	return f.commit(ctx, doing, func(tx *sql.Tx) error { return write(tx) })
}

func (f onFile) Begin(ctx context.Context) (Moment, error) {
	tx, err := f.snapshotTx(ctx)
	if err != nil {
		return nil, err
	}
	return folding{tx, f.DB}, nil
}

func (f onFile) Fault(doing study.Note, err error) error { return f.fault(doing, err) }

// folding is a reading that folds in, at its end, what it kept from the file.
type folding struct {
	*sql.Tx
	of *DB
}

func (f folding) Rollback() error {
	err := f.Tx.Rollback()
	f.of.foldLeft()
	return err
}

func (s *DB) snapshotTx(ctx context.Context) (*sql.Tx, error) {
	return s.aside().BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
}
