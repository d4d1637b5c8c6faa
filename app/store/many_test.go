package store

import (
	"context"
	"database/sql"
	"flag"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

var (
	made     = flag.String("many", "", "file in which TestMakeMany makes a study of many hips, and that BenchmarkWhole looks at")
	madeHips = flag.Int("hips", 20000, "hips of that study, each of six films that two read")
)

// TestMakeMany makes a study for benchmarks of commands and of the window, with its trail.
// Most of its readings have no edge points.
func TestMakeMany(t *testing.T) {
	if *made == "" {
		t.Skip("makes a study where -many names a file")
	}
	multiplied(t, *made, *madeHips, 6, 2)
	db := openAt(t, *made)
	tx, err := db.db.BeginTx(t.Context(), nil)
	require.NoError(t, err)
	_, err = tx.Exec("INSERT INTO edges (reading, head, cup) SELECT seq, x'', x'' FROM reading WHERE seq NOT IN (SELECT reading FROM edges)")
	require.NoError(t, err)
	for _, step := range []func(context.Context, *sql.Tx) error{trailNew, trailRows, trailReadings} {
		require.NoError(t, step(t.Context(), tx))
	}
	require.NoError(t, tx.Commit())
	found, err := db.Audit(t.Context())
	require.NoError(t, err)
	require.Empty(t, found.Broken)
	closed(t, db)
}

// trailNew adds hips and films as they are to the trail.
func trailNew(ctx context.Context, tx *sql.Tx) error {
	list, err := hips(ctx, tx, "")
	for i := 0; err == nil && i < len(list); i++ {
		err = addChange(ctx, tx, "hip", list[i].ID, nil, list[i], study.Stamp{Why: beforeTrail})
	}
	if err != nil {
		return err
	}
	pictures, err := films(ctx, tx, "")
	for i := 0; err == nil && i < len(pictures); i++ {
		err = addChange(ctx, tx, "film", pictures[i].ID, nil, pictures[i], study.Stamp{Why: beforeTrail})
	}
	return err
}
