package store

import (
	"context"
	"database/sql"
	_ "embed" // the migrations
	"fmt"

	"linerwatch/app/study"
)

// applicationID marks a study file: "LWst".
const applicationID = 0x4C577374

// migration brings a file from one form to the next: statements first, then move.
type migration struct {
	statements string
	move       func(ctx context.Context, tx *sql.Tx, tell study.Progress) error // may be nil
}

var (
	//go:embed migrations/0001_study.sql
	studySQL string
	//go:embed migrations/0002_unfinished.sql
	unfinishedSQL string
	//go:embed migrations/0003_implant.sql
	implantSQL string
	//go:embed migrations/0004_views.sql
	viewsSQL string
	//go:embed migrations/0005_rim.sql
	rimSQL string
	//go:embed migrations/0006_withdrawal.sql
	withdrawalSQL string
	//go:embed migrations/0007_links.sql
	linksSQL string
	//go:embed migrations/0008_kept.sql
	keptSQL string
	//go:embed migrations/0009_records.sql
	recordsSQL string
	//go:embed migrations/0010_trail.sql
	trailSQL string
	//go:embed migrations/0011_lists.sql
	listsSQL string
	//go:embed migrations/0012_listdrafts.sql
	listDraftsSQL string
)

// packed is the last migration before whose end edge points take their old room.
const packed = 7

// migrations returns every migration in order; the n-th brings a file to user_version n.
func migrations() []migration {
	return []migration{
		{studySQL, nil}, {unfinishedSQL, nil}, {implantSQL, nil}, {viewsSQL, nil}, {rimSQL, nil}, {withdrawalSQL, nil},
		{linksSQL, moveToLinks}, {keptSQL, nil}, {recordsSQL, nil}, {trailSQL, beginTrail}, {listsSQL, nil},
		{listDraftsSQL, nil},
	}
}

// migrate runs the migrations that the file has not had, all in one transaction, so that
// one that is broken off leaves the file as it was. Another process may be doing the same:
// the number of the last one is read inside the transaction.
func migrate(ctx context.Context, db *sql.DB, all []migration, tell study.Progress) (err error) {
	// Where ctx ends the file is to be as it was when this returns, not some time later.
	tx, err := db.BeginTx(context.WithoutCancel(ctx), nil)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = tx.Rollback() // the first error is the one to tell
		}
	}()
	var have int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&have); err != nil {
		return err
	}
	for i := have; i < len(all); i++ {
		if err := all[i].run(ctx, tx, tell); err != nil {
			return wrapped(err, "store.migration", "N", float64(i+1))
		}
	}
	if have < len(all) {
		mark := fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d;", applicationID, len(all))
		if _, err := tx.ExecContext(ctx, mark); err != nil {
			return err
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return tx.Commit()
}

func (m migration) run(ctx context.Context, tx *sql.Tx, tell study.Progress) error {
	if _, err := tx.ExecContext(ctx, m.statements); err != nil || m.move == nil {
		return err
	}
	return m.move(ctx, tx, tell)
}
