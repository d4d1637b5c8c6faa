package store

import (
	"context"
	"database/sql"
	"errors"

	"linerwatch/app/study"
)

// Setting returns the value kept under key, and whether there is one.
func (s *Tables) Setting(ctx context.Context, key string) (value string, ok bool, err error) {
	err = s.main().QueryRowContext(ctx, "SELECT value FROM setting WHERE key = ?", key).Scan(&value)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return "", false, nil
	case err != nil:
		return "", false, s.fault(named("store.read-setting", "Key", key), err)
	}
	return value, true, nil
}

// SetSetting keeps value under key.
func (s *Tables) SetSetting(ctx context.Context, key, value string, by study.Stamp) error {
	return s.commit(ctx, named("store.keep-setting", "Key", key), func(tx querier) error { return PutSetting(ctx, tx, key, value, by) })
}

// PutSetting keeps value under key in a transaction.
func PutSetting(ctx context.Context, tx Querier, key, value string, by study.Stamp) error {
	return tracedExec(ctx, tx, ofSetting, by, "WHERE key = ?", []any{key}, `INSERT INTO setting (key, value) VALUES (?, ?)
		ON CONFLICT (key) DO UPDATE SET value = excluded.value`, key, value)
}
