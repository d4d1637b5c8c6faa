package central

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"slices"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

var _ study.Granting = (*DB)(nil)

// codesKey is the setting that the database's guards look at, too.
const codesKey = "reader codes"

// Codes implements study.Granting.
func (s *DB) Codes(ctx context.Context) (map[string][]string, error) {
	all, err := codes(ctx, s.Main())
	if err != nil {
		return nil, s.Fault(named("central.read-codes"), err)
	}
	return all, nil
}

func codes(ctx context.Context, q store.Querier) (map[string][]string, error) {
	var text string
	err := q.QueryRowContext(ctx, "SELECT value FROM setting WHERE key = ?", codesKey).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return map[string][]string{}, nil
	}
	if err != nil {
		return nil, err
	}
	all := map[string][]string{}
	return all, json.Unmarshal([]byte(text), &all)
}

// Grant implements study.Granting.
func (s *DB) Grant(ctx context.Context, user string, list []string, by study.Stamp) error {
	return s.Commit(ctx, named("central.grant", "User", user), func(tx store.Querier) error {
		all, err := codes(ctx, tx)
		if err != nil {
			return err
		}
		list = slices.Compact(slices.Sorted(slices.Values(list)))
		if len(list) == 0 {
			delete(all, user)
		} else if err := works(ctx, tx, user); err != nil {
			return err
		} else {
			all[user] = list
		}
		text, err := json.Marshal(all)
		if err != nil {
			return err
		}
		return store.PutSetting(ctx, tx, codesKey, string(text), by)
	})
}

// works refuses a user who has no role in which something is read.
func works(ctx context.Context, q store.Querier, user string) error {
	var may bool
	err := q.QueryRowContext(ctx, `SELECT coalesce(bool_or(pg_has_role(u.oid, r.oid, 'MEMBER')), false) FROM pg_roles u, pg_roles r
		WHERE u.rolname = ? AND r.rolname IN (current_database() || '_reader', current_database() || '_coordinator')`, user).Scan(&may)
	if err == nil && !may {
		err = refused("central.no-reader", "User", user)
	}
	return err
}
