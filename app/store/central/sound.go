package central

import (
	"context"
	"regexp"
	"strings"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

// Sound implements store.Base: the triggers of the study, each there, at work, and doing what
// it did when the study was made. Pages are the server's own business.
func (s *DB) Sound(ctx context.Context, q store.Querier) (wrong []study.Note, last int64, err error) {
	rows, err := q.QueryContext(ctx, `SELECT tgname, tgenabled = 'O', prosrc FROM pg_trigger
		JOIN pg_proc ON pg_proc.oid = tgfoid JOIN pg_class ON pg_class.oid = tgrelid JOIN pg_namespace ON pg_namespace.oid = relnamespace
		WHERE nspname = 'linerwatch' AND NOT tgisinternal`)
	if err != nil {
		return nil, 0, err
	}
	defer rows.Close() // the error of Err is the one to tell
	there := map[string]bool{}
	all := strings.Join(migrations(), "")
	for rows.Next() {
		var name, source string
		var on bool
		if err := rows.Scan(&name, &on, &source); err != nil {
			return nil, 0, err
		}
		there[name] = on && strings.Contains(all, "$$"+source+"$$")
	}
	for _, m := range aTrigger.FindAllStringSubmatch(all, -1) {
		if !there[m[1]] {
			wrong = append(wrong, named("audit.guard", "Name", "trigger "+m[1]))
		}
	}
	return wrong, 0, rows.Err()
}

var aTrigger = regexp.MustCompile(`CREATE TRIGGER (\w+)`)
