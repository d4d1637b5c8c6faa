package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// applicationID marks a study file: "LWst".
const applicationID = 0x4C577374

// migrations returns the statements of every migration in order; the n-th
// brings a file to user_version n.
func migrations() ([]string, error) {
	names, err := fs.Glob(migrationFiles, "migrations/*.sql")
	if err != nil {
		return nil, err
	}
	var out []string
	for _, name := range names { // Glob sorts
		b, err := migrationFiles.ReadFile(name)
		if err != nil {
			return nil, err
		}
		out = append(out, string(b))
	}
	return out, nil
}

// migrate runs the migrations that the file has not had, each in a transaction
// of its own together with its number. Another process may be doing the same:
// the number is read again inside the transaction.
func migrate(ctx context.Context, db *sql.DB, all []string) error {
	for i, statements := range all {
		if err := migrateOne(ctx, db, i+1, statements); err != nil {
			return fmt.Errorf("migration %d: %w", i+1, err)
		}
	}
	return nil
}

func migrateOne(ctx context.Context, db *sql.DB, number int, statements string) (err error) {
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
	if have < number {
		statements += fmt.Sprintf("\n; PRAGMA application_id = %d; PRAGMA user_version = %d;", applicationID, number)
		if _, err := tx.ExecContext(ctx, statements); err != nil {
			return err
		}
	}
	return tx.Commit()
}
