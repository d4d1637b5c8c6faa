package store

import (
	"context"
	"database/sql"
	_ "embed" // the migrations
	"fmt"
)

// applicationID marks a study file: "LWst".
const applicationID = 0x4C577374

// Progress is told how many readings of an earlier version's file have been brought to
// this one's form, of how many. It is called from the goroutine that opens the file.
type Progress func(done, of int)

// migration brings a file from one form to the next: statements first, then move.
type migration struct {
	statements string
	move       func(ctx context.Context, tx *sql.Tx, tell Progress) error // may be nil
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
)

// packed is the last migration before whose end edge points take their old room.
const packed = 7

// migrations returns every migration in order; the n-th brings a file to user_version n.
func migrations() []migration {
	return []migration{
		{studySQL, nil}, {unfinishedSQL, nil}, {implantSQL, nil}, {viewsSQL, nil}, {rimSQL, nil}, {withdrawalSQL, nil},
		{linksSQL, moveToLinks}, {keptSQL, nil},
	}
}

// migrate runs the migrations that the file has not had, each in a transaction
// of its own together with its number. Another process may be doing the same:
// the number is read again inside the transaction.
func migrate(ctx context.Context, db *sql.DB, all []migration, tell Progress) error {
	for i, m := range all {
		if err := migrateOne(ctx, db, i+1, m, tell); err != nil {
			return fmt.Errorf("migration %d: %w", i+1, err)
		}
	}
	return nil
}

func migrateOne(ctx context.Context, db *sql.DB, number int, m migration, tell Progress) (err error) {
	tx, err := db.BeginTx(ctx, nil)
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
	if have >= number {
		return tx.Commit()
	}
	if _, err := tx.ExecContext(ctx, m.statements); err != nil {
		return err
	}
	if m.move != nil {
		if err := m.move(ctx, tx, tell); err != nil {
			return err
		}
	}
	mark := fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d;", applicationID, number)
	if _, err := tx.ExecContext(ctx, mark); err != nil {
		return err
	}
	return tx.Commit()
}
