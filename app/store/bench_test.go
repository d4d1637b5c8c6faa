package store

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// A study of this many hips, with outlines of this many edges, is what a study file is
// made for; each file of it has fewer bytes than mostBytes.
const (
	manyHips, filmsEach = 2000, 5
	edgesEach           = 720
	mostBytes           = 150e6
)

// realistic is a reading with outlines as the program fits them: edges 0.3 px off the
// circle on rays from about its centre, a tenth of them left out.
func realistic(r *rand.Rand, id string, h study.Hip, f study.Film, up float64) (study.Reading, error) {
	outline := func(x, y, radius float64) (o study.Outline) {
		o.Circle = study.Circle{X: x, Y: y, R: radius}
		o.Cov = [3][3]float64{{0.0123456789, 0.001234567, 0.00012345}, {0.001234567, 0.0223456789, 0}, {0.00012345, 0, 0.005123456}}
		o.Shared = o.Cov
		o.Arc, o.RMS, o.Contrast, o.Clipped = 301.234567, 0.2987654, 12.3456789, 0.0123456
		for i := range edgesEach {
			a := 360 * float64(i) / edgesEach
			sin, cos := math.Sincos(a * math.Pi / 180)
			d := radius + 0.3*r.NormFloat64()
			e := study.Edge{Angle: a, Strength: 300 * math.Exp(0.4*r.NormFloat64()), SD: 0.1 * math.Exp(0.4*r.NormFloat64())}
			e.X, e.Y = x+0.4+d*cos, y-0.3+d*sin
			e.Residual = o.Distance(e.Point)
			if i%17 == 3 || i%100 > 94 {
				e.Reject = "no edge"
			} else {
				o.Points, o.Residuals = append(o.Points, e.Point), append(o.Residuals, e.Residual)
			}
			o.Edges = append(o.Edges, e)
		}
		return o
	}
	g := storetest.Reading(id, h, f)
	g.Head, g.Cup = outline(801.2345678+r.Float64(), 901.3456789-up, 105.4567891), outline(801.5678912, 902.6789123, 190.7891234)
	g.Rim = study.Rim{A: study.Pixel{X: 611.123456, Y: 902.234567}, B: study.Pixel{X: 991.123456, Y: 902.234567},
		Found: study.Ellipse{X: 801.567, Y: 902.678, A: 190.345, B: 40.678, Angle: 40.123}, Seen: 0.4567}
	for i := range g.Rim.Cov {
		g.Rim.Cov[i][i] = 0.0123456789 * (1 + float64(i))
	}
	m, err := g.Read(study.Method{Beam: true})
	g.Measurement = m
	return g, err
}

// many writes the study to path, once; each reading is written as AddReading does, but
// not each in a commit of its own.
func many(tb testing.TB, path string) {
	tb.Helper()
	ctx := tb.Context()
	db := created(tb, path)
	r := rand.New(rand.NewPCG(1, 2))
	tx, err := db.db.BeginTx(ctx, nil)
	require.NoError(tb, err)
	for i := range manyHips {
		h := storetest.Hip()
		h.ID, h.Patient, h.Baseline, h.BeamOff, h.Revision = fmt.Sprint("H", i+1), fmt.Sprintf("P-%04d", i), "", false, 1
		require.NoError(tb, putHip(ctx, tx, h))
		for k := range filmsEach {
			name := fmt.Sprintf("%d-%d", i, k)
			f := storetest.Film(name, h.Surgery.AddDate(2*k, 1, 0).Format("2006-01-02"))
			f.ID, f.Revision, f.Given = "F"+name, 1, study.Given{}
			f.Facts.Patient, f.Facts.SHA256, f.Facts.PixelKey = h.Patient, fmt.Sprintf("%064d", i*10+k), fmt.Sprintf("%064d", i*10+k)
			require.NoError(tb, putFilm(ctx, tx, f))
			_, err := tx.Exec("INSERT INTO link (hip_id, film_id, searched, reason) VALUES (?, ?, '', '')", h.ID, f.ID)
			require.NoError(tb, err)
			g, err := realistic(r, "20260301T123015.000-"+name, h, f, float64(k)*0.8)
			require.NoError(tb, err)
			require.NoError(tb, addReading(ctx, tx, g))
		}
	}
	require.NoError(tb, tx.Commit())
	closed(tb, db)
}

func BenchmarkMany(b *testing.B) {
	path := filepath.Join(b.TempDir(), "many.study")
	many(b, path)
	info, err := os.Stat(path)
	require.NoError(b, err)
	b.Run("size", func(b *testing.B) {
		for b.Loop() {
			require.Less(b, float64(info.Size()), mostBytes)
		}
		b.ReportMetric(float64(info.Size())/1e6, "MB")
	})
	b.Run("open", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			db := openAt(b, path)
			closed(b, db)
			b.StartTimer()
			db = openAt(b, path)
			b.StopTimer()
			closed(b, db)
			b.StartTimer()
		}
	})
	db := openAt(b, path)
	b.Run("check", func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, quickCheck(b.Context(), db.look))
		}
	})
	b.Run("hips", func(b *testing.B) {
		for b.Loop() {
			hips, err := db.Hips(b.Context())
			require.NoError(b, err)
			require.Len(b, hips, manyHips)
		}
	})
	b.Run("records", func(b *testing.B) {
		for b.Loop() {
			n := 0
			require.NoError(b, db.Records(b.Context(), func(r study.Record) error { n += len(r.Readings); return nil }))
			require.Equal(b, manyHips*filmsEach, n)
		}
	})
	b.Run("summaries", func(b *testing.B) {
		for b.Loop() {
			n := 0
			require.NoError(b, db.Records(b.Context(), func(r study.Record) error {
				if r.Summary(study.Anyone).Fit != nil {
					n++
				}
				return nil
			}))
			require.Equal(b, manyHips, n)
		}
	})
	b.Run("form", func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, checkForm(b.Context(), db.look))
		}
	})
	b.Run("audit", func(b *testing.B) {
		for b.Loop() {
			a, err := db.Audit(b.Context())
			require.NoError(b, err)
			require.Equal(b, manyHips*filmsEach, a.Readings)
		}
	})
	b.Run("one hip", func(b *testing.B) {
		for b.Loop() {
			_, err := db.Record(b.Context(), "H1000")
			require.NoError(b, err)
		}
	})
	closed(b, db)
}

func BenchmarkAddReading(b *testing.B) {
	db, h, f := seeded(b, filepath.Join(b.TempDir(), "s.study"))
	g, err := realistic(rand.New(rand.NewPCG(1, 2)), "", h, f, 0)
	require.NoError(b, err)
	i := 0
	for b.Loop() {
		i++
		g.ID = fmt.Sprint(i)
		if err := db.AddReading(b.Context(), g); err != nil {
			b.Fatal(err)
		}
	}
	closed(b, db)
}

// BenchmarkAddFilms adds a thousand films to a study of five thousand.
func BenchmarkAddFilms(b *testing.B) {
	db, err := Create(filepath.Join(b.TempDir(), "s"+study.FileExt))
	require.NoError(b, err)
	defer db.Close()
	n := 0
	films := func(count int) (list []study.Film) {
		for range count {
			n++
			list = append(list, study.Film{Path: fmt.Sprintf("films/%d.dcm", n), Facts: study.Facts{PixelKey: fmt.Sprint("key", n), SHA256: fmt.Sprint("sha", n)}, Waits: study.NotSorted})
		}
		return list
	}
	_, err = db.AddFilms(b.Context(), films(5000), by)
	require.NoError(b, err)
	for b.Loop() {
		_, err := db.AddFilms(b.Context(), films(1000), by)
		require.NoError(b, err)
	}
}
