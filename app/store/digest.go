package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"strconv"

	"linerwatch/app/study"
)

// readingTrail is what the trail holds of a reading: whose and of what it is, and a digest
// of its row and of its edge points.
type readingTrail struct {
	Hip, Film, Status, Supersedes string
	Columns                       int // of the row, from the first; later forms of the study add others
	Digest                        string
}

// traceReading adds a reading that was saved to the trail.
func traceReading(ctx context.Context, tx querier, r study.Reading, why string) error {
	k := readingTrail{Hip: r.HipID, Film: r.FilmID, Status: string(r.Status), Supersedes: r.Supersedes}
	var err error
	if k.Columns, k.Digest, err = readingDigest(ctx, tx, r.ID, 0); err != nil {
		return err
	}
	return addChange(ctx, tx, "reading", r.ID, nil, k, study.Stamp{Reader: r.Reader, At: r.At, Version: r.Version, Why: why})
}

// readingDigest returns a hash over the first columns of the row of a reading, all for 0,
// and over its edge points: SHA-256, each value by its type, length and bytes.
func readingDigest(ctx context.Context, q querier, id string, columns int) (of int, digest string, err error) {
	h := sha256.New()
	if of, err = hashRow(ctx, q, h, columns, "SELECT * FROM reading WHERE id = ?", id); err != nil || of == 0 {
		return 0, "", err
	}
	n, err := hashRow(ctx, q, h, 0, "SELECT edges.* FROM edges JOIN reading ON reading.seq = edges.reading WHERE reading.id = ?", id)
	if err == nil && n == 0 {
		return 0, "", nil
	}
	return of, hex.EncodeToString(h.Sum(nil)), err
}

// hashRow hashes the one row of a query and returns its number of columns, 0 where there is
// no row or it has fewer than asked for.
func hashRow(ctx context.Context, q querier, h hash.Hash, columns int, query string, args ...any) (int, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return 0, err
	}
	defer rows.Close() // the error of Err is the one to tell
	names, err := rows.Columns()
	if err != nil || !rows.Next() || len(names) < columns {
		return 0, rows.Err()
	}
	values, err := scanCells(rows.Scan, len(names))
	if err != nil {
		return 0, err
	}
	if columns == 0 {
		columns = len(names)
	}
	hashCells(h, values[:columns])
	return columns, rows.Err()
}

// hashCells hashes values of a row, each by its type, length and bytes.
func hashCells(h hash.Hash, values []any) {
	for _, v := range values {
		text := ""
		switch v := v.(type) {
		case []byte:
			text = string(v)
		case float64:
			text = strconv.FormatFloat(v, 'g', -1, 64)
		case nil:
		default:
			text = fmt.Sprint(v)
		}
		fmt.Fprintf(h, "%T %d:%s,", v, len(text), text) // a hash does not fail
	}
}
