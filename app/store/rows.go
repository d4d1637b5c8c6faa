package store

import (
	"context"
	"database/sql/driver"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"linerwatch/app/study"
)

// scanner is sql.Rows.Scan.
type scanner = func(dest ...any) error

// collect runs a query and reads its rows.
func collect[T any](ctx context.Context, q querier, query string, args []any, read func(scanner) (T, error)) (out []T, err error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	for rows.Next() {
		v, err := read(rows.Scan)
		if err != nil {
			_ = rows.Close() // the first error is the one to tell
			return nil, err
		}
		out = append(out, v)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	return out, rows.Close()
}

// formatDate writes a day as ISO 8601, empty where it is not known.
func formatDate(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

func parseDate(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(time.DateOnly, s)
}

// formatTime writes a moment, empty where it is not known.
func formatTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}

func parseTime(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(time.RFC3339Nano, s)
}

// decode reads JSON into to; better nothing than part of it.
func decode(text string, to any) error {
	if text == "{}" || text == "null" {
		return nil
	}
	d := json.NewDecoder(strings.NewReader(text))
	d.DisallowUnknownFields()
	return d.Decode(to)
}

// encode writes values as JSON texts.
func encode(values ...any) ([]string, error) {
	out := make([]string, len(values))
	for i, v := range values {
		b, err := json.Marshal(v)
		if err != nil {
			return nil, err
		}
		out[i] = string(b)
	}
	return out, nil
}

// noteText is a note as a column keeps it: JSON, or the text of one that is a sentence.
type noteText struct{ of *study.Note }

// Value implements driver.Valuer.
func (n noteText) Value() (driver.Value, error) {
	if n.of.Code == "" {
		return n.of.Text, nil
	}
	list, err := encode(n.of)
	if err != nil {
		return nil, err
	}
	return list[0], nil
}

// Scan implements sql.Scanner.
func (n noteText) Scan(value any) error {
	text, ok := value.(string)
	if !ok {
		return refused("store.note-kind", "Kind", fmt.Sprintf("%T", value))
	}
	if *n.of = (study.Note{Text: text}); !strings.HasPrefix(text, "{") {
		return nil
	}
	return decode(text, n.of)
}

// short is an ID for people: of one that is a hash, its first digits.
func short(id string) string {
	if r := []rune(id); len(r) > 16 {
		return string(r[:8]) + "…"
	}
	return id
}

// newID returns the next of the running numbers of hips (H) or films (F). Those of films
// that were dropped are not given again.
func newID(ctx context.Context, tx querier, table, letter string) (string, error) {
	last, err := lastID(ctx, tx, table, letter)
	return fmt.Sprint(letter, last+1), err
}

// lastID returns the highest number of an ID of the study's own.
func lastID(ctx context.Context, tx querier, table, letter string) (last int64, err error) {
	err = tx.QueryRowContext(ctx, fmt.Sprintf(`SELECT coalesce(max(CASE WHEN substr(id, 1, 1) = '%[2]s' AND length(id) BETWEEN 2 AND 15
		AND ltrim(substr(id, 2), '0123456789') = '' THEN CAST(substr(id, 2) AS BIGINT) END), 0) FROM
		(SELECT id FROM %[1]s UNION ALL SELECT id FROM trail WHERE what = '%[1]s') given`, table, letter)).Scan(&last)
	return last, err
}
