package store

import (
	"io"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// BenchmarkExport writes the tables of a study of two thousand hips, as the command and
// the window do.
func BenchmarkExport(b *testing.B) {
	path := filepath.Join(b.TempDir(), "many.study")
	many(b, path)
	db := openAt(b, path)
	require.NoError(b, db.Check(b.Context()))
	for b.Loop() {
		e := &report.Export{Whose: study.Anyone}
		require.NoError(b, db.Records(b.Context(), func(r study.Record) error { e.Add(r); return nil }))
		for _, table := range report.ExportTables() {
			require.NoError(b, e.Write(io.Discard, table))
		}
		require.Equal(b, manyHips*filmsEach, e.Len("readings"))
	}
	closed(b, db)
}
