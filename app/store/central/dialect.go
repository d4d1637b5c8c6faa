package central

import (
	"context"
	"database/sql"
	"strconv"
	"strings"

	"linerwatch/app/store"
)

// asked is a connection or a transaction that takes the statements of store.Tables.
type asked struct{ store.Querier }

func (a asked) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	return a.Querier.QueryContext(ctx, numbered(query), whole(args)...)
}

func (a asked) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	return a.Querier.QueryRowContext(ctx, numbered(query), whole(args)...)
}

func (a asked) ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error) {
	return a.Querier.ExecContext(ctx, numbered(query), whole(args)...)
}

// numbered writes the places of values as PostgreSQL wants them: $1, $2 ... for ?. Texts of a
// JSON array are read by another function.
func numbered(query string) string {
	query = strings.ReplaceAll(query, "json_each(?)", "json_array_elements_text(CAST(? AS json))")
	var b strings.Builder
	for n := 1; ; n++ {
		before, after, more := strings.Cut(query, "?")
		b.WriteString(before)
		if !more {
			return b.String()
		}
		b.WriteString("$" + strconv.Itoa(n))
		query = after
	}
}

// whole makes whole numbers of what is true or false, as columns keep it.
func whole(args []any) []any {
	out := make([]any, len(args))
	for i, v := range args {
		if is, ok := v.(bool); ok {
			v = int64(0)
			if is {
				v = int64(1)
			}
		}
		out[i] = v
	}
	return out
}

// moment is a transaction that sees the study as it is at one moment.
type moment struct {
	asked
	tx *sql.Tx
}

func (m moment) Rollback() error { return m.tx.Rollback() }
