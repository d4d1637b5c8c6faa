package store

import (
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// manyEarlier writes a study of hips with filesEach films to path as the program kept it
// after its sixth migration, with outlines of real size.
func manyEarlier(tb testing.TB, path string, hips int) {
	tb.Helper()
	ctx := tb.Context()
	require.NoError(tb, os.WriteFile(path, nil, 0o600))
	db, err := connect(path)
	require.NoError(tb, err)
	require.NoError(tb, migrate(ctx, db, migrations()[:6], nil))
	tx, err := db.BeginTx(ctx, nil)
	require.NoError(tb, err)
	r := rand.New(rand.NewPCG(1, 2))
	put := func(statement string, args ...any) {
		_, err := tx.ExecContext(ctx, statement, args...)
		require.NoError(tb, err)
	}
	for i := range hips {
		h := storetest.Hip()
		h.ID, h.Patient = fmt.Sprintf("P-%04d-right", i), fmt.Sprintf("P-%04d", i)
		put(`INSERT INTO hip (id, patient, side, surgery, head_mm, liner_mm, pe, start_years, baseline) VALUES (?, ?, 'right', ?, 28, 6.2, 'XLPE', 1, '')`,
			h.ID, h.Patient, formatDate(h.Surgery))
		for k := range filmsEach {
			f := storetest.Film(fmt.Sprintf("%d-%d", i, k), h.Surgery.AddDate(2*k, 1, 0).Format("2006-01-02"))
			f.ID, f.Facts.SHA256 = fmt.Sprintf("%064d", i*10+k), fmt.Sprintf("%064d", i*10+k)
			put(`INSERT INTO film (id, hip_id, path, sha256, patient, date, side, width, height, spacing_mm, spacing_kind)
				VALUES (?, ?, ?, ?, ?, ?, 'right', 2400, 2880, 0.143, 'imager')`, f.ID, h.ID, f.Path, f.Facts.SHA256, h.Patient, formatDate(f.Date()))
			g, err := realistic(r, fmt.Sprintf("r%d-%d", i, k), h, f, float64(k)*0.8)
			require.NoError(tb, err)
			text, err := encode(g.Head, g.Cup, g.Reading, g.Warnings, g.Line, g.How, g.Beam, g.Corrected, g.Rim)
			require.NoError(tb, err)
			put(`INSERT INTO reading (id, film_id, sha256, reader, at, version, status, reason, side, cup_kind, head_mm,
				head, cup, result, warnings, line, method, beam, corrected, rim)
				VALUES (?, ?, ?, 'R1', '2026-03-01T12:30:15Z', 'test', 'measured', '', 'right', 'shell', 28, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
				g.ID, f.ID, f.Facts.SHA256, text[0], text[1], text[2], text[3], text[4], text[5], text[6], text[7], text[8])
		}
	}
	require.NoError(tb, tx.Commit())
	require.NoError(tb, db.Close())
}

// BenchmarkEarlier opens a study of 200 hips that an earlier version of the program kept.
func BenchmarkEarlier(b *testing.B) {
	const hips = 200
	old := filepath.Join(b.TempDir(), "old"+study.FileExt)
	manyEarlier(b, old, hips)
	path := filepath.Join(b.TempDir(), "s"+study.FileExt)
	for b.Loop() {
		b.StopTimer()
		copyTo(b, old, path)
		b.StartTimer()
		db := openAt(b, path)
		b.StopTimer()
		closed(b, db)
		b.StartTimer()
	}
	b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N)/hips/filmsEach, "ms/reading")
}

func copyTo(tb testing.TB, from, to string) {
	tb.Helper()
	in, err := os.Open(from)
	require.NoError(tb, err)
	out, err := os.Create(to)
	require.NoError(tb, err)
	_, err = io.Copy(out, in)
	require.NoError(tb, err)
	require.NoError(tb, in.Close())
	require.NoError(tb, out.Close())
}
