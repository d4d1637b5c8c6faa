package central

import (
	"context"
	"database/sql"
	_ "embed" // the migrations
	"errors"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

// schemaName is the schema of the study in its database.
const schemaName = "linerwatch"

var (
	//go:embed migrations/0001_study.sql
	studySQL string
	//go:embed migrations/0002_roles.sql
	rolesSQL string
	//go:embed migrations/0003_jobs.sql
	jobsSQL string
	//go:embed migrations/0004_listdrafts.sql
	listDraftsSQL string
	//go:embed migrations/0005_unblinding.sql
	unblindingSQL string
	//go:embed migrations/0006_codes.sql
	codesSQL string
)

// migrations returns every migration in order; after the n-th the study has form n.
func migrations() []string {
	return []string{studySQL, rolesSQL, jobsSQL, listDraftsSQL, unblindingSQL, codesSQL}
}

// jobsForm is the form since which a study has jobs.
const jobsForm = 3

// form returns the form of the study, 0 where there is none.
func form(ctx context.Context, q store.Querier) (n int, err error) {
	var there bool
	err = q.QueryRowContext(ctx, "SELECT to_regclass('linerwatch.form') IS NOT NULL").Scan(&there)
	if err != nil || !there {
		return 0, err
	}
	err = q.QueryRowContext(ctx, "SELECT coalesce(max(n), 0) FROM linerwatch.form").Scan(&n)
	return n, err
}

// known refuses what is not a study of this version's form.
func (s *DB) known(ctx context.Context) error {
	n, err := form(ctx, s.db)
	return errors.Join(err, of(n))
}

// of says what is wrong with a form.
func of(n int) error {
	switch all := len(migrations()); {
	case n == 0:
		return wrapped(study.ErrNotStudy, "central.none")
	case n < all:
		return wrapped(study.ErrEarlier, "store.earlier-version", "Version", float64(n), "Known", float64(all))
	case n > all:
		return wrapped(store.ErrNewer, "store.newer-version", "Version", float64(n), "Known", float64(all))
	}
	return nil
}

// upgrade brings the study to this version's form where its owner asks.
func (s *DB) upgrade(ctx context.Context) error {
	n, err := form(ctx, s.db)
	if err != nil {
		return err
	}
	var owner bool
	err = s.db.QueryRowContext(ctx, "SELECT coalesce((SELECT pg_has_role(nspowner, 'USAGE') FROM pg_namespace WHERE nspname = $1), false)", schemaName).Scan(&owner)
	if err != nil || n == 0 || n >= len(migrations()) || !owner {
		return errors.Join(err, of(n))
	}
	return s.migrate(ctx, false, nil)
}

func (s *DB) create(ctx context.Context) error { return s.migrate(ctx, true, nil) }

// migrate runs the migrations that the study has not had; another program that does the same
// waits. Those before the queue's own are one transaction, the queue's are of its own making
// (a value of an enumeration is of no use in the transaction that adds it), and the rest is
// another: what is broken off between goes on when the owner opens the study next. A new study
// takes what from holds, which may be nil.
func (s *DB) migrate(ctx context.Context, anew bool, from store.Querier) (err error) {
	c, err := s.db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, c.Close()) }()
	if _, err := c.ExecContext(ctx, "SELECT pg_advisory_lock(1280799605)"); err != nil {
		return err
	}
	defer func() {
		_, failed := c.ExecContext(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock(1280799605)")
		err = errors.Join(err, failed)
	}()
	have, err := form(ctx, c)
	if err != nil {
		return err
	}
	if have > 0 && anew {
		return refused("central.exists")
	}
	if have < jobsForm-1 {
		if err := steps(ctx, c, have, jobsForm-1, taking(ctx, from, take)); err != nil {
			return err
		}
	}
	if have < jobsForm {
		if err := makeJobs(ctx, s.db); err != nil {
			return err
		}
	}
	return steps(ctx, c, max(have, jobsForm-1), len(migrations()), taking(ctx, from, takeLater))
}

// taking returns what takes rows from another study, nil where there is none.
func taking(ctx context.Context, from store.Querier, take func(ctx context.Context, from, tx store.Querier) error) func(tx store.Querier) error {
	if from == nil {
		return nil
	}
	return func(tx store.Querier) error { return take(ctx, from, tx) }
}

// steps brings a study of form have to form want and then fills it, which may be nil, in one
// transaction.
func steps(ctx context.Context, c *sql.Conn, have, want int, fill func(tx store.Querier) error) (err error) {
	tx, err := c.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = tx.Rollback() // the first error is the one to tell
		}
	}()
	if have == 0 {
		if _, err := tx.ExecContext(ctx, "CREATE SCHEMA linerwatch; CREATE TABLE linerwatch.form (n BIGINT PRIMARY KEY)"); err != nil {
			return err
		}
	}
	for i := have; i < want; i++ {
		if _, err := tx.ExecContext(ctx, migrations()[i]); err != nil {
			return wrapped(err, "store.migration", "N", float64(i+1))
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO form VALUES ($1)", i+1); err != nil {
			return err
		}
	}
	if fill != nil {
		if err := fill(asked{tx}); err != nil {
			return err
		}
	}
	return tx.Commit()
}
