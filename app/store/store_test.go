package store

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

func openAt(t *testing.T, path string) *DB {
	t.Helper()
	db, err := Open(path)
	require.NoError(t, err)
	return db
}

func closed(t *testing.T, db *DB) {
	t.Helper()
	require.NoError(t, db.Close())
}

func date(s string) time.Time {
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return d
}

func aHip() study.Hip {
	return study.Hip{ID: "H1", Patient: "P-017", Side: measure.Right, Surgery: date("2004-05-03"),
		Group:      "trial arm B",
		Implant:    study.Implant{HeadMM: 28, LinerMM: 6.2, PE: "XLPE", HeadMaterial: "alumina", ShellMM: 52, Fixation: "uncemented"},
		StartYears: 1.5, Baseline: "F1"}
}

func aFilm(id, day string) study.Film {
	return study.Film{ID: id, HipID: "H1", Path: "films/" + id + ".dcm", SHA256: "ab12" + id, Patient: "P-017",
		Date: date(day), Side: measure.Right, Width: 2400, Height: 2880, SpacingMM: 0.143, SpacingKind: "imager",
		View: study.AP, SourceMM: 1150, Given: study.BeamGiven{SourceMM: 1200, Center: &measure.Point{X: 7.5, Y: 8}}}
}

// fill sets every exported field of v, however deep, to a value of its own, so that
// a round trip shows any field that is not kept.
func fill(v reflect.Value, n *int) {
	*n++
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				fill(v.Field(i), n)
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range v.Len() {
			fill(v.Index(i), n)
		}
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), n)
		}
	case reflect.Float64:
		v.SetFloat(float64(*n) + 1.0/3)
	case reflect.Int:
		v.SetInt(int64(*n))
	case reflect.String:
		v.SetString("text " + strconv.Itoa(*n))
	case reflect.Bool:
		v.SetBool(true)
	default:
		panic("fill: " + v.Type().String())
	}
}

func aReading(id string, f study.Film) study.Reading {
	r := study.Reading{ID: id, FilmID: f.ID, Reader: "R2", Version: "0.1",
		At: time.Date(2026, 3, 1, 12, 30, 15, 123456789, time.UTC),
		Measurement: study.Measurement{Film: f, Status: study.Measured, Side: measure.Right,
			CupKind: measure.Shell, HeadMM: 28}}
	n := 0
	fill(reflect.ValueOf(&r.Head).Elem(), &n)
	fill(reflect.ValueOf(&r.Cup).Elem(), &n)
	fill(reflect.ValueOf(&r.Measurement.Reading).Elem(), &n)
	fill(reflect.ValueOf(&r.Warnings).Elem(), &n)
	fill(reflect.ValueOf(&r.Line).Elem(), &n)
	fill(reflect.ValueOf(&r.How).Elem(), &n)
	fill(reflect.ValueOf(&r.Beam).Elem(), &n)
	fill(reflect.ValueOf(&r.Corrected).Elem(), &n)
	fill(reflect.ValueOf(&r.Rim).Elem(), &n)
	return r
}

// seeded returns an open study with one hip and one film.
func seeded(t *testing.T, path string) (*DB, study.Film) {
	t.Helper()
	db := openAt(t, path)
	f := aFilm("F1", "2004-06-14")
	require.NoError(t, db.SaveHip(t.Context(), aHip()))
	require.NoError(t, db.SaveFilm(t.Context(), f))
	return db, f
}

func TestRoundTrip(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "a study, 100 % #1?.study")
	db, f1 := seeded(t, path)
	f0 := aFilm("F0", "2009-01-02")
	require.NoError(t, db.SaveFilm(ctx, f0))
	undated := study.Film{ID: "F9", HipID: "H1"}
	require.NoError(t, db.SaveFilm(ctx, undated))
	other := study.Hip{ID: "H0"}
	require.NoError(t, db.SaveHip(ctx, other))

	first := aReading("r1", f1)
	again := aReading("r0", f1)
	again.Supersedes, again.Reason = "r1", "reread"
	refused := study.Reading{ID: "r3", FilmID: "F0", At: first.At,
		Measurement: study.Measurement{Film: f0, Status: study.Refused, Reason: "no cup"}}
	for _, r := range []study.Reading{first, again, refused} {
		require.NoError(t, db.AddReading(ctx, r))
	}
	for range 2 { // as written, and after closing and opening
		hips, err := db.Hips(ctx)
		require.NoError(t, err)
		assert.Equal(t, []study.Hip{other, aHip()}, hips)
		films, err := db.Films(ctx, "H1")
		require.NoError(t, err)
		assert.Equal(t, []study.Film{undated, f1, f0}, films)
		readings, err := db.Readings(ctx, "H1")
		require.NoError(t, err)
		assert.Equal(t, []study.Reading{first, again, refused}, readings)
		none, err := db.Readings(ctx, "H0")
		require.NoError(t, err)
		assert.Empty(t, none)
		closed(t, db)
		assert.Equal(t, []string{filepath.Base(path)}, names(t, filepath.Dir(path)), "closed, the file stands alone")
		db = openAt(t, path)
	}
	closed(t, db)
}

func names(t *testing.T, dir string) (out []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func TestSaveChangesTheOne(t *testing.T) {
	ctx := t.Context()
	db, f := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	h := aHip()
	h.Implant.HeadMM, h.Side, h.Surgery, h.Baseline = 32, measure.Left, date("2005-01-01"), ""
	require.NoError(t, db.SaveHip(ctx, h))
	hips, err := db.Hips(ctx)
	require.NoError(t, err)
	assert.Equal(t, []study.Hip{h}, hips)

	require.NoError(t, db.AddReading(ctx, aReading("r1", f)))
	moved := f
	moved.Path, moved.SHA256 = "elsewhere.dcm", "new"
	require.NoError(t, db.SaveFilm(ctx, moved))
	readings, err := db.Readings(ctx, "H1")
	require.NoError(t, err)
	assert.Equal(t, "elsewhere.dcm", readings[0].Film.Path)
	assert.Equal(t, f.SHA256, readings[0].Film.SHA256, "of the file that was read")
}

func TestReadingsAreAppendOnly(t *testing.T) {
	ctx := t.Context()
	db, f := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	f2 := aFilm("F2", "2005-06-14")
	require.NoError(t, db.SaveFilm(ctx, f2))
	require.NoError(t, db.SaveHip(ctx, study.Hip{ID: "H2"}))
	r := aReading("r1", f)
	require.NoError(t, db.AddReading(ctx, r))

	for name, c := range map[string]struct{ statement, want string }{
		"update":          {"UPDATE reading SET reason = 'x'", "never changed"},
		"delete":          {"DELETE FROM reading", "never deleted"},
		"replace":         {"INSERT OR REPLACE INTO reading SELECT * FROM reading", "id exists"},
		"move the film":   {"UPDATE film SET hip_id = 'H2' WHERE id = 'F1'", "stays with its hip"},
		"delete the film": {"DELETE FROM film WHERE id = 'F1'", "FOREIGN KEY"},
		"delete the hip":  {"DELETE FROM hip WHERE id = 'H1'", "FOREIGN KEY"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := db.db.ExecContext(ctx, c.statement)
			require.ErrorContains(t, err, c.want)
		})
	}
	for name, c := range map[string]struct {
		change func(*study.Reading)
		want   string
	}{
		"same id":              {func(r *study.Reading) { r.ID = "r1" }, "id exists"},
		"no id":                {func(r *study.Reading) { r.ID = "" }, "CHECK"},
		"unknown film":         {func(r *study.Reading) { r.FilmID, r.Film.ID = "F7", "F7" }, "FOREIGN KEY"},
		"two films":            {func(r *study.Reading) { r.FilmID = "F2" }, `it names film "F2" but was made on film "F1"`},
		"supersedes nothing":   {func(r *study.Reading) { r.Supersedes = "r9" }, "not one of this film"},
		"supersedes elsewhere": {func(r *study.Reading) { r.FilmID, r.Film.ID, r.Supersedes = "F2", "F2", "r1" }, "not one of this film"},
		"not a number":         {func(r *study.Reading) { r.Head.R = math.NaN() }, "NaN"},
		"unknown status":       {func(r *study.Reading) { r.Status = "guessed" }, "CHECK"},
		"head not a number":    {func(r *study.Reading) { r.HeadMM = math.NaN() }, "NOT NULL"},
	} {
		t.Run(name, func(t *testing.T) {
			bad := aReading("r2", f)
			c.change(&bad)
			require.ErrorContains(t, db.AddReading(ctx, bad), c.want)
		})
	}
	readings, err := db.Readings(ctx, "H1")
	require.NoError(t, err)
	assert.Equal(t, []study.Reading{r}, readings)
}

// A study file keeps its meaning when measure's types change: these texts are
// what the first version wrote. Where a field is renamed, this fails, and a
// migration is due.
func TestKeptForm(t *testing.T) {
	ctx := t.Context()
	db, f := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	const outline = `{"X":1.5,"Y":2,"R":30,"Cov":[[1,0,0],[0,1,0],[0,0,1]],"Points":[{"X":31,"Y":2}],"Residuals":[0.25],` +
		`"Arc":180,"RMS":0.2,"Edges":[{"X":31,"Y":2,"Angle":0,"Residual":0.25,"Reject":"neck"}]}`
	const result = `{"Scale":0.14,"SEScale":0.001,"Offset":{"Superior":0.5,"Medial":-0.25,"Cov":[[1,0],[0,1]]},` +
		`"Eccentricity":0.1,"SEEccentricity":0.01,"Thinnest":5,"SEThinnest":0.1}`
	_, err := db.db.ExecContext(ctx, `INSERT INTO reading (id, film_id, sha256, reader, at, version, status, reason, side,
		cup_kind, head_mm, head, cup, result, warnings) VALUES ('r1', 'F1', 'ab12F1', 'R1', '2026-03-01T12:00:00Z', '0.1', 'measured',
		'', 'right', 'wire', 28, ?, ?, ?, '["short arc"]')`, outline, outline, result)
	require.NoError(t, err)
	got, err := db.Readings(ctx, "H1")
	require.NoError(t, err)
	o := measure.Outline{
		CircleFit: measure.CircleFit{Circle: measure.Circle{X: 1.5, Y: 2, R: 30},
			Cov: [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, Points: []measure.Point{{X: 31, Y: 2}},
			Residuals: []float64{0.25}, Arc: 180, RMS: 0.2},
		Edges: []measure.Edge{{Point: measure.Point{X: 31, Y: 2}, Residual: 0.25, Reject: "neck"}},
	}
	want := study.Reading{ID: "r1", FilmID: "F1", Reader: "R1", At: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC), Version: "0.1",
		Measurement: study.Measurement{Film: f, Status: study.Measured, Side: measure.Right, Head: o, Cup: o,
			CupKind: measure.Wire, HeadMM: 28, Warnings: []study.Warning{{Text: "short arc"}},
			Reading: measure.Reading{Scale: 0.14, SEScale: 0.001, Eccentricity: 0.1, SEEccentricity: 0.01, Thinnest: 5, SEThinnest: 0.1,
				Offset: measure.Vector{Superior: 0.5, Medial: -0.25, Cov: [2][2]float64{{1, 0}, {0, 1}}}}}}
	require.Len(t, got, 1)
	assert.Equal(t, want, got[0])

	_, err = db.db.ExecContext(ctx, `INSERT INTO reading SELECT NULL, 'r2', film_id, sha256, reader, at, version, supersedes, status,
		reason, side, cup_kind, head_mm, '{"X":1,"Radius":2}', cup, result, warnings, line, method, beam, corrected, rim FROM reading`)
	require.NoError(t, err)
	_, err = db.Readings(ctx, "H1")
	require.ErrorContains(t, err, `reading "r2": head: json: unknown field "Radius"`)
}

func TestSettings(t *testing.T) {
	ctx := t.Context()
	db := openAt(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	_, ok, err := db.Setting(ctx, "window")
	require.NoError(t, err)
	assert.False(t, ok)
	for _, want := range []string{"1200x800", ""} {
		require.NoError(t, db.SetSetting(ctx, "window", want))
		got, ok, err := db.Setting(ctx, "window")
		require.NoError(t, err)
		assert.True(t, ok)
		assert.Equal(t, want, got)
	}
}

func TestCopyIsWhole(t *testing.T) {
	ctx := t.Context()
	dir := t.TempDir()
	db, f := seeded(t, filepath.Join(dir, "s.study"))
	r := aReading("r1", f)
	require.NoError(t, db.AddReading(ctx, r))
	to := filepath.Join(t.TempDir(), "copy.study")
	require.NoError(t, db.Copy(ctx, to))
	assert.Equal(t, []string{"copy.study"}, names(t, filepath.Dir(to)), "one file, nothing beside it")
	require.ErrorContains(t, db.Copy(ctx, to), "exists already")
	require.Error(t, db.Copy(ctx, filepath.Join(dir, "none", "copy.study")))
	require.NoError(t, db.AddReading(ctx, aReading("r2", f)))
	closed(t, db)

	c := openAt(t, to)
	defer closed(t, c)
	got, err := c.Readings(ctx, "H1")
	require.NoError(t, err)
	assert.Equal(t, []study.Reading{r}, got)
	require.NoError(t, c.AddReading(ctx, aReading("r2", f)), "a copy is a study to go on with")
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	db := openAt(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	cancel()
	require.ErrorIs(t, db.SaveHip(ctx, aHip()), context.Canceled)
	_, err := db.Hips(ctx)
	require.ErrorIs(t, err, context.Canceled)
}

func BenchmarkAddReading(b *testing.B) {
	path := filepath.Join(b.TempDir(), "s.study")
	db, err := Open(path)
	require.NoError(b, err)
	f := aFilm("F1", "2004-06-14")
	require.NoError(b, db.SaveHip(b.Context(), aHip()))
	require.NoError(b, db.SaveFilm(b.Context(), f))
	r := aReading("r", f)
	edges := make([]measure.Edge, 360)
	for i := range edges {
		edges[i] = measure.Edge{Point: measure.Point{X: 1000.0 / 3, Y: 2000.0 / 7}, Angle: float64(i), Residual: 0.01}
	}
	r.Head.Edges, r.Cup.Edges = edges, edges
	i := 0
	for b.Loop() {
		i++
		r.ID = strconv.Itoa(i)
		if err := db.AddReading(b.Context(), r); err != nil {
			b.Fatal(err)
		}
	}
	require.NoError(b, db.Close())
}
