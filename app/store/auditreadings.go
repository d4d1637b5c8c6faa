package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"math"
	"slices"
)

func (a *auditor) readings(ctx context.Context) error {
	for last := int64(math.MinInt64); ; {
		page, err := cells(ctx, a.q, "SELECT * FROM reading WHERE seq > ? ORDER BY seq LIMIT ?", last, a.page)
		if err != nil || len(page.rows) == 0 {
			return err
		}
		next, _ := page.rows[len(page.rows)-1][page.at("seq")].(int64)
		edges, err := cells(ctx, a.q, "SELECT * FROM edges WHERE reading > ? AND reading <= ?", last, next)
		if err != nil {
			return err
		}
		if err := errors.Join(a.readingsIn(ctx, page, edges), a.settle(ctx)); err != nil {
			return err
		}
		last = next
	}
}

// readingsIn compares readings with what the trail says of them.
func (a *auditor) readingsIn(ctx context.Context, page, edges cellTable) error {
	points := map[any][]any{}
	for _, e := range edges.rows {
		points[e[edges.at("reading")]] = e
	}
	for _, r := range page.rows {
		text := func(column string) string { s, _ := r[page.at(column)].(string); return s }
		id, says := text("id"), ""
		if e, ok := points[r[page.at("seq")]]; ok {
			h := sha256.New()
			hashCells(h, r)
			hashCells(h, e)
			list, err := encode(readingTrail{Hip: text("hip_id"), Film: text("film_id"), Status: text("status"), Supersedes: text("supersedes"),
				Columns: len(r), Digest: hex.EncodeToString(h.Sum(nil))})
			if err != nil {
				return err
			}
			says = list[0]
		}
		a.found.Readings++
		a.now("reading", id, says, func(text string) (bool, error) { return digested(ctx, a.q, id, text) })
	}
	return nil
}

// digested reports whether a reading has the digest that a text of the trail tells, over the
// columns that there were then.
func digested(ctx context.Context, q querier, id, text string) (bool, error) {
	var k readingTrail
	if json.Unmarshal([]byte(text), &k) != nil || k.Columns == 0 {
		return false, nil
	}
	_, digest, err := readingDigest(ctx, q, id, k.Columns)
	return digest == k.Digest, err
}

// cellTable is rows of a table, or of some of its columns.
type cellTable struct {
	names []string
	rows  [][]any
}

// at returns the place of a column.
func (t cellTable) at(name string) int { return slices.Index(t.names, name) }

// cells reads rows whatever they hold.
func cells(ctx context.Context, q querier, query string, args ...any) (t cellTable, err error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return t, err
	}
	defer rows.Close() // the error of Err is the one to tell
	if t.names, err = rows.Columns(); err != nil {
		return t, err
	}
	for rows.Next() {
		row, err := scanCells(rows.Scan, len(t.names))
		if err != nil {
			return t, err
		}
		t.rows = append(t.rows, row)
	}
	return t, rows.Err()
}
