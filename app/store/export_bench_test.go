package store

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/report/dataset"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// BenchmarkExport writes a study as the command and the window do: of two thousand hips with
// five films, and of twenty thousand with six that two read. The peak is what the program
// takes at most meanwhile, the study's file that the system keeps in memory not counted.
func BenchmarkExport(b *testing.B) {
	for _, size := range []struct{ hips, films, readers int }{{manyHips, filmsEach, 1}, {20000, 6, 2}} {
		path := filepath.Join(b.TempDir(), fmt.Sprintf("%d.study", size.hips))
		multiplied(b, path, size.hips, size.films, size.readers)
		b.Run(fmt.Sprintf("%dx%dx%d", size.hips, size.films, size.readers), func(b *testing.B) {
			db := openAt(b, path)
			require.NoError(b, db.Check(b.Context()))
			debug.FreeOSMemory()
			forgetPeak()
			for b.Loop() {
				told, err := dataset.Write(b.Context(), db, func(string) (io.WriteCloser, error) { return nowhere{io.Discard}, nil }, dataset.Options{})
				require.NoError(b, err)
				require.Equal(b, size.hips*size.films*size.readers, told.Rows["penetration"])
				require.Equal(b, size.hips*size.films, told.Rows["films"])
			}
			b.ReportMetric(peakMB(), "MB-peak")
			closed(b, db)
		})
	}
}

// BenchmarkWhole looks through a study that TestMakeMany made, exports it, and tells the
// agreement of its readers. The peak is as in BenchmarkExport.
func BenchmarkWhole(b *testing.B) {
	if *made == "" {
		b.Skip("-many names a study")
	}
	db := openAt(b, *made)
	require.NoError(b, db.Check(b.Context()))
	for _, c := range []struct {
		name string
		do   func() error
	}{
		{"check", func() error {
			a, err := db.Audit(b.Context())
			require.Empty(b, a.Broken)
			return err
		}},
		{"export", func() error {
			_, err := dataset.Write(b.Context(), db, func(string) (io.WriteCloser, error) { return nowhere{io.Discard}, nil }, dataset.Options{})
			return err
		}},
		{"agreement", func() error {
			_, err := batch.Agreement(b.Context(), db, false)
			return err
		}},
	} {
		b.Run(c.name, func(b *testing.B) {
			debug.FreeOSMemory()
			forgetPeak()
			for b.Loop() {
				require.NoError(b, c.do())
			}
			b.ReportMetric(peakMB(), "MB-peak")
		})
	}
	closed(b, db)
}

type nowhere struct{ io.Writer }

func (nowhere) Close() error { return nil }

// forgetPeak has the system count the peak of this process's memory anew, where it can.
func forgetPeak() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }

// peakMB is the highest memory of this process since, 0 where the system does not tell.
func peakMB() float64 {
	text, _ := os.ReadFile("/proc/self/status")
	for _, line := range strings.Split(string(text), "\n") {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kB, _ := strconv.ParseFloat(strings.Fields(rest)[0], 64)
			return kB / 1000
		}
	}
	return 0
}

// multiplied writes a study of many hips to path: of a few, which are made as readers make them,
// and copies of their rows under other codes. No edge points are kept.
func multiplied(tb testing.TB, path string, hips, films, readers int) {
	tb.Helper()
	const made = 20
	ctx := context.Background()
	db := created(tb, path)
	r := rand.New(rand.NewPCG(1, 2))
	tx, err := db.db.BeginTx(ctx, nil)
	require.NoError(tb, err)
	for i := range made {
		h := storetest.Hip()
		h.ID, h.Patient, h.Group, h.Baseline, h.BeamOff, h.Revision = fmt.Sprint("H", i+1), fmt.Sprintf("P-%04d", i), fmt.Sprint("arm ", i%2), "", false, 1
		require.NoError(tb, putHip(ctx, tx, h))
		for k := range films {
			f := storetest.Film(fmt.Sprintf("%d-%d", i, k), h.Surgery.AddDate(2*k, 1, 0).Format("2006-01-02"))
			f.ID, f.Revision, f.Given = fmt.Sprintf("F%d-%d", i, k), 1, study.Given{}
			f.Facts.Patient, f.Facts.SHA256, f.Facts.PixelKey = h.Patient, fmt.Sprintf("%064d", i*10+k), fmt.Sprintf("%064d", i*10+k)
			require.NoError(tb, putFilm(ctx, tx, f))
			_, err := tx.Exec("INSERT INTO link (hip_id, film_id, searched, reason) VALUES (?, ?, '', '')", h.ID, f.ID)
			require.NoError(tb, err)
			for who := range readers {
				g, err := realistic(r, fmt.Sprintf("r%d-%d-%d", i, k, who), h, f, float64(k)*0.8+0.1*r.NormFloat64())
				require.NoError(tb, err)
				g.Reader = fmt.Sprint("R", who+1)
				require.NoError(tb, addReading(ctx, tx, g))
			}
		}
	}
	for _, t := range []struct {
		table string
		with  map[string]string // columns that copies have otherwise
	}{
		{"hip", map[string]string{"id": "id || '-' || n", "patient": "patient || '-' || n"}},
		{"film", map[string]string{"id": "id || '-' || n", "patient": "patient || '-' || n", "pixel_key": "pixel_key || '-' || n", "sha256": "sha256 || '-' || n"}},
		{"link", map[string]string{"hip_id": "hip_id || '-' || n", "film_id": "film_id || '-' || n"}},
		{"reading", map[string]string{"seq": "NULL", "id": "reading.id || '-' || n", "hip_id": "hip_id || '-' || n", "film_id": "film_id || '-' || n"}},
	} {
		names, err := collect(ctx, tx, "SELECT name FROM pragma_table_info(?)", []any{t.table}, func(scan scanner) (s string, err error) { return s, scan(&s) })
		require.NoError(tb, err)
		var values []string
		for _, name := range names {
			if v, ok := t.with[name]; ok {
				values = append(values, v)
			} else {
				values = append(values, name)
			}
		}
		_, err = tx.Exec(fmt.Sprintf("WITH RECURSIVE k(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM k WHERE n < ?) INSERT INTO %[1]s (%[2]s) SELECT %[3]s FROM %[1]s, k",
			t.table, strings.Join(names, ", "), strings.Join(values, ", ")), hips/made-1)
		require.NoError(tb, err, t.table)
	}
	require.NoError(tb, tx.Commit())
	closed(tb, db)
}
