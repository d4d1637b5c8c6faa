package store

import (
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
	"linerwatch/measure"
)

func TestStore(t *testing.T) {
	storetest.Run(t, func(t *testing.T) study.Store { return created(t, filepath.Join(t.TempDir(), "s.study")) })
}

var by = study.Stamp{Reader: "R1", At: time.Date(2026, 3, 1, 12, 30, 15, 0, time.UTC), Version: "0.1"}

func created(t testing.TB, path string) *DB {
	t.Helper()
	db, err := Create(path)
	require.NoError(t, err)
	return db
}

func openAt(t testing.TB, path string) *DB {
	t.Helper()
	db, err := Open(path)
	require.NoError(t, err)
	return db
}

func closed(t testing.TB, db *DB) {
	t.Helper()
	require.NoError(t, db.Close())
}

// seed saves a hip, H1, and a film of it, F1.
func seed(t testing.TB, db *DB) (study.Hip, study.Film) {
	t.Helper()
	ctx := t.Context()
	h, err := db.SaveHip(ctx, storetest.Hip(), by)
	require.NoError(t, err)
	f, err := db.SaveFilm(ctx, storetest.Film("a", "2004-06-14"), by)
	require.NoError(t, err)
	require.NoError(t, db.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, by))
	return h, f
}

// seeded returns a new study with that.
func seeded(t testing.TB, path string) (*DB, study.Hip, study.Film) {
	t.Helper()
	db := created(t, path)
	h, f := seed(t, db)
	return db, h, f
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

// fill sets every exported field of v, however deep, to a value of its own, so that
// a round trip shows any field that is not kept. Slices stay empty.
func fill(v reflect.Value, n *int) {
	*n++
	if note, ok := v.Addr().Interface().(*study.Note); ok {
		*note = study.Note{Code: "text " + strconv.Itoa(*n), Values: study.Values{"N": float64(*n)}}
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				fill(v.Field(i), n)
			}
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
	case reflect.Slice, reflect.Pointer:
	default:
		panic("fill: " + v.Type().String())
	}
}

// Every field of a hip, a film and a reading outlives closing and opening.
func TestEveryFieldIsKept(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "a study, 100 % #1?.study")
	db, h, f := seeded(t, path)
	n := 0
	fill(reflect.ValueOf(&h.Implant).Elem(), &n)
	fill(reflect.ValueOf(&f.Facts.Axes).Elem(), &n)
	fill(reflect.ValueOf(&f.Given.Axes).Elem(), &n)
	f.Given.Date, f.Waits, f.Reason = by.At.Truncate(24*time.Hour), study.NotAP, study.Note{Code: "waits.view", Values: study.Values{"View": "oblique"}}
	h, err := db.SaveHip(ctx, h, by)
	require.NoError(t, err)
	f, err = db.SaveFilm(ctx, f, by)
	require.NoError(t, err)
	r := study.Reading{ID: "r1", HipID: h.ID, FilmID: f.ID, Reader: "R2", Version: "0.1", At: by.At}
	m := &r.Measurement
	for _, part := range []any{&m.Head, &m.Cup, &m.Reading, &m.Line, &m.How, &m.Beam, &m.Corrected, &m.Rim} {
		fill(reflect.ValueOf(part).Elem(), &n)
	}
	r.Warnings = []study.Warning{{Code: "a", Text: "b"}, {Code: "c", Text: "d"}}
	m.Film, m.Status, m.Side, m.CupKind, m.HeadMM = f, study.Measured, measure.Left, measure.Wire, 28
	require.NoError(t, db.AddReading(ctx, r))
	for range 2 { // as written, and after closing and opening
		hips, err := db.Hips(ctx)
		require.NoError(t, err)
		assert.Equal(t, []study.Hip{h}, hips)
		films, err := db.Films(ctx, h.ID)
		require.NoError(t, err)
		assert.Equal(t, []study.Film{f}, films)
		readings, err := db.Readings(ctx, h.ID)
		require.NoError(t, err)
		assert.Equal(t, []study.Reading{r}, readings)
		closed(t, db)
		assert.Equal(t, []string{filepath.Base(path)}, names(t, filepath.Dir(path)), "closed, the file stands alone")
		db = openAt(t, path)
	}
	closed(t, db)
}

func TestWhatIsAppendOnly(t *testing.T) {
	ctx := t.Context()
	db, h, f := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	require.NoError(t, db.AddReading(ctx, storetest.Reading("r1", h, f)))
	require.NoError(t, db.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r1", At: by.At}))
	require.NoError(t, db.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: f.ID, At: by.At}))
	_, err := db.AddEvent(ctx, study.Event{HipID: h.ID, Kind: study.Lost, Date: by.At, Stamp: by})
	require.NoError(t, err)
	require.NoError(t, db.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: f.ID, Quality: "B", Stamp: by}))
	for statement, want := range map[string]string{
		"UPDATE reading SET reason = 'x'":                      "readings are never changed",
		"DELETE FROM reading":                                  "readings are never deleted",
		"INSERT OR REPLACE INTO reading SELECT * FROM reading": "id exists",
		"UPDATE edges SET head = x''":                          "edge points are never changed",
		"DELETE FROM edges":                                    "edge points are never deleted",
		"UPDATE withdrawal SET back = 0":                       "withdrawals are never changed",
		"DELETE FROM withdrawal":                               "withdrawals are never deleted",
		"UPDATE exclusion SET code = ''":                       "exclusions are never changed",
		"DELETE FROM exclusion":                                "exclusions are never deleted",
		"UPDATE trail SET new = '{}'":                          "the audit trail is never changed",
		"DELETE FROM trail":                                    "the audit trail is never shortened",
		"INSERT OR REPLACE INTO trail SELECT * FROM trail":     "the audit trail is never shortened",
		"UPDATE event SET note = 'x'":                          "events are never changed",
		"DELETE FROM event":                                    "events are never deleted",
		"UPDATE grade SET quality = 'A'":                       "grades are never changed",
		"DELETE FROM grade":                                    "grades are never deleted",
		"DELETE FROM link":                                     "FOREIGN KEY",
		"DELETE FROM film":                                     "FOREIGN KEY",
		"DELETE FROM hip":                                      "FOREIGN KEY",
	} {
		t.Run(statement, func(t *testing.T) {
			_, err := db.db.ExecContext(ctx, statement)
			require.Contains(t, study.Told(err), want)
		})
	}
}

// A study file keeps its meaning when measure's types change: these texts are
// what the program writes. Where a field is renamed, this fails, and a
// migration is due.
func TestKeptForm(t *testing.T) {
	ctx := t.Context()
	db, h, f := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	circle, err := outlineBytes(measure.Outline{CircleFit: measure.CircleFit{Circle: measure.Circle{X: 1.5, Y: 2, R: 30}, Arc: 180}}, measure.Circle{X: 1, Y: 2, R: 3})
	require.NoError(t, err)
	require.Len(t, circle, 1+8*58)
	const result = `{"Reading":{"Scale":0.14,"SEScale":0.001,"Offset":{"Superior":0.5,"Medial":-0.25,"Cov":[[1,0],[0,1]]},` +
		`"Eccentricity":0.1,"SEEccentricity":0.01,"Thinnest":5,"SEThinnest":0.1},"Warnings":["short arc"],` +
		`"Line":{"From":"drawn","Alpha":2,"SE":0.5},"How":{"Beam":true,"Line":true},"Beam":{"Corrected":true,"SourceMM":1150},` +
		`"NoRim":"hidden"}`
	rim, err := rimBytes(study.Rim{A: measure.Point{X: 1, Y: 2}, Seen: 0.5})
	require.NoError(t, err)
	require.Len(t, rim, 1+8*35)
	insert := func(id, result string) {
		_, err := db.db.ExecContext(ctx, `INSERT INTO reading (id, hip_id, film_id, sha256, reader, at, version, status, reason, side,
			cup_kind, head_mm, head, cup, head_points, cup_points, rim, result)
			VALUES (?, ?, ?, 'sha', 'R1', '2026-03-01T12:00:00Z', '0.1', 'measured', '', 'right', 'wire', 28, ?, ?, 7, 8, ?, ?)`,
			id, h.ID, f.ID, circle, circle, rim, result)
		require.NoError(t, err)
	}
	insert("r1", result)
	got, err := db.Readings(ctx, h.ID)
	require.NoError(t, err)
	o := measure.Outline{CircleFit: measure.CircleFit{Circle: measure.Circle{X: 1.5, Y: 2, R: 30}, Arc: 180}}
	f.Facts.SHA256 = "sha"
	want := study.Reading{ID: "r1", HipID: h.ID, FilmID: f.ID, Reader: "R1", At: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC), Version: "0.1",
		Kept: study.Kept{Head: 7, Cup: 8},
		Measurement: study.Measurement{Film: f, Status: study.Measured, Side: measure.Right, Head: o, Cup: o,
			CupKind: measure.Wire, HeadMM: 28, Warnings: []study.Warning{{Text: "short arc"}},
			Line: study.Line{From: study.Drawn, Alpha: 2, SE: 0.5}, How: study.Method{Beam: true, Line: true},
			Beam: study.BeamUse{Corrected: true, SourceMM: 1150}, Corrected: study.Corrected{Head: measure.Circle{X: 1, Y: 2, R: 3}, Cup: measure.Circle{X: 1, Y: 2, R: 3}},
			Rim: study.Rim{A: measure.Point{X: 1, Y: 2}, Seen: 0.5, Why: study.Note{Text: "hidden"}},
			Reading: measure.Reading{Scale: 0.14, SEScale: 0.001, Eccentricity: 0.1, SEEccentricity: 0.01, Thinnest: 5, SEThinnest: 0.1,
				Offset: measure.Vector{Superior: 0.5, Medial: -0.25, Cov: [2][2]float64{{1, 0}, {0, 1}}}}}}
	require.Len(t, got, 1)
	assert.Equal(t, want, got[0])

	insert("r2", `{"Reading":{"Scale":1,"Zoom":2}}`)
	_, err = db.Readings(ctx, h.ID)
	require.Contains(t, study.Told(err), `reading r2: json: unknown field "Zoom"`)
}

// What hips and films were is kept in this form.
func TestKeptChanges(t *testing.T) {
	ctx := t.Context()
	db := created(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	_, err := db.db.ExecContext(ctx, `INSERT INTO trail (what, id, old, new, why, hash, reader, at, version) VALUES ('hip', 'H1',
		'{"ID":"H1","Patient":"P-017","Group":"B","Side":2,"Surgery":"2004-05-03T00:00:00Z","Implant":{"HeadMM":28,"LinerMM":6.2,"PE":"XLPE"},"StartYears":1.5,"Revision":3}', '{}', '', '',
		'R1', '2026-03-01T12:00:00Z', '0.1')`)
	require.NoError(t, err)
	hips, err := db.HipChanges(ctx, "H1")
	require.NoError(t, err)
	stamp := study.Stamp{Reader: "R1", At: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC), Version: "0.1"}
	assert.Equal(t, []study.HipChange{{Stamp: stamp, Before: study.Hip{ID: "H1", Patient: "P-017", Group: "B", Side: study.Left,
		Surgery: time.Date(2004, 5, 3, 0, 0, 0, 0, time.UTC), Implant: study.Implant{HeadMM: 28, LinerMM: 6.2, PE: "XLPE"}, StartYears: 1.5, Revision: 3}}}, hips)

	_, err = db.db.ExecContext(ctx, `INSERT INTO trail (what, id, old, new, why, hash, reader, at, version) VALUES ('film', 'F1',
		'{"ID":"F1","Path":"a.dcm","Facts":{"SHA256":"sha","PixelKey":"key","View":"AP","Field":{"X":1,"Y":2}},"Given":{"SourceMM":1200,"View":"lateral"},"Waits":"not AP","Revision":2}', '{}', '', '',
		'R1', '2026-03-01T12:00:00Z', '0.1')`)
	require.NoError(t, err)
	films, err := db.FilmChanges(ctx, "F1")
	require.NoError(t, err)
	assert.Equal(t, []study.FilmChange{{Stamp: stamp, Before: study.Film{ID: "F1", Path: "a.dcm",
		Facts: study.Facts{SHA256: "sha", PixelKey: "key", View: study.AP, Field: &study.Pixel{X: 1, Y: 2}},
		Given: study.Given{SourceMM: 1200, View: study.Lateral}, Waits: study.NotAP, Revision: 2}}}, films)
}
