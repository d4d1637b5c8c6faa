package store

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// everyRow is every row of a study, by table.
func everyRow(t *testing.T, path string) map[string][]trackedRow {
	t.Helper()
	out := map[string][]trackedRow{}
	require.NoError(t, CopyTo(t.Context(), path, func(q Querier) error {
		for _, table := range append(copiedTables(), [2]string{"trail", "seq"}, [2]string{"trail_end", "seq"}, [2]string{"sqlite_sequence", "name"}) {
			err := rowTexts(t.Context(), q, func(r trackedRow) { out[table[0]] = append(out[table[0]], r) },
				"SELECT '', * FROM "+table[0]+" ORDER BY "+table[1], nil)
			if err != nil {
				return err
			}
		}
		return nil
	}))
	return out
}

// changing makes one change after the other, and hands over what each is.
func changing(t *testing.T, db *DB, each func(what string, at time.Time)) {
	ctx := t.Context()
	at := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	stamp := func() study.Stamp { at = at.Add(time.Minute); return study.Stamp{Reader: "R1", At: at, Version: "0.2"} }
	did := func(what string, err error) { require.NoError(t, err, what); each(what, at) }
	_, err := db.SaveSite(ctx, study.Site{Code: "S1"}, stamp())
	did("site", err)
	p, err := db.SavePatient(ctx, study.Patient{Site: "S1", Code: "P-1"}, stamp())
	did("patient", err)
	h, err := db.SaveHip(ctx, study.Hip{Site: "S1", Patient: "P-1", Surgery: time.Date(2004, 5, 3, 0, 0, 0, 0, time.UTC)}, stamp())
	did("hip", err)
	f, err := db.SaveFilm(ctx, storetest.Film("a", "2004-06-14"), stamp())
	did("film", err)
	g, err := db.SaveFilm(ctx, storetest.Film("b", "2008-06-14"), stamp())
	did("other film", err)
	did("link", db.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, stamp()))
	did("other link", db.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: g.ID}, stamp()))
	read := func(id, supersedes string) error {
		r := storetest.Reading(id, h, f)
		s := stamp()
		r.Reader, r.At, r.Supersedes = s.Reader, s.At, supersedes
		return db.AddReading(ctx, r)
	}
	did("reading", read("r1", ""))
	h.Implant.HeadMM, h.Group = 32, "B"
	h, err = db.SaveHip(ctx, h, stamp())
	did("hip corrected", err)
	did("reading again", read("r2", "r1"))
	did("withdrawal", db.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r2", Reader: "R1", At: stamp().At}))
	did("exclusion", db.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: f.ID, Code: "other", Reader: "R1", At: stamp().At}))
	e, err := db.AddEvent(ctx, study.Event{HipID: h.ID, Kind: study.LinerExchanged, Date: time.Date(2007, 5, 1, 0, 0, 0, 0, time.UTC), Stamp: stamp()})
	did("event", err)
	_, err = db.AddEvent(ctx, study.Event{HipID: h.ID, TakesBack: e.ID, Stamp: stamp()})
	did("event taken back", err)
	did("grade", db.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: f.ID, Quality: "A", Stamp: stamp()}))
	for _, text := range []string{"averaged", "first"} {
		did("setting "+text, db.SetSetting(ctx, "rule", text, stamp()))
	}
	for _, v := range []study.Variable{{Of: study.OfHip, Name: "stem", Type: study.Number}, {Of: study.OfPatient, Name: "sport", Type: study.Text}} {
		_, err = db.SaveVariable(ctx, v, stamp())
		did("variable", err)
	}
	for _, text := range []string{"1.5", "2", ""} {
		did("value "+text, db.SetValues(ctx, []study.Value{{Of: study.OfHip, ID: h.ID, Name: "stem", Text: text}}, stamp()))
	}
	p.HeightCM = 171.5
	_, err = db.SavePatient(ctx, p, stamp())
	did("patient corrected", err)
	f.Path = "elsewhere.dcm"
	f, err = db.SaveFilm(ctx, f, stamp())
	did("film moved", err)
	lists, err := db.AddLists(ctx, []study.List{{Reader: "R2", Kind: study.ReadList, Seed: 1<<60 + 1, Start: study.StartBlank,
		Places: []study.Place{{HipID: h.ID, FilmID: f.ID, Occasion: 1}}}}, stamp())
	did("list", err)
	did("unblinding", db.AddUnblinding(ctx, study.Unblinding{ListID: lists[0].ID, Stamp: stamp()}))
	did("link dropped", db.DropLink(ctx, h.ID, g.ID, stamp()))
	did("film dropped", db.DropFilm(ctx, g.ID, stamp()))
}

// A study taken back to a point of its trail has every row that it had then, and the trail of then.
func TestRewind(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "s.study")
	db := created(t, path)
	type point struct {
		what, copy string
		row        int64
		at         time.Time
	}
	var points []point
	changing(t, db, func(what string, at time.Time) {
		row, _, err := db.TrailEnd(t.Context())
		require.NoError(t, err)
		p := point{what, filepath.Join(dir, fmt.Sprint("then", row, ".study")), row, at}
		require.NoError(t, db.SaveAs(t.Context(), p.copy))
		points = append(points, p)
	})
	closed(t, db)
	require.Greater(t, len(points), 25)
	before := everyRow(t, path)
	for i, p := range points {
		to := study.Then{Row: p.row}
		if i%2 == 1 {
			to = study.Then{At: p.at.Add(30 * time.Second)}
		}
		out := filepath.Join(dir, fmt.Sprint("back", i, ".study"))
		last, err := Rewind(t.Context(), path, out, to)
		require.NoError(t, err, "%s: %s", p.what, study.Told(err))
		require.Equal(t, p.row, last.Seq)
		want, got := everyRow(t, p.copy), everyRow(t, out)
		for table := range want {
			require.Equal(t, want[table], got[table], "%s: %s", p.what, table)
		}
		back := openAt(t, out)
		a, err := back.Audit(t.Context())
		require.NoError(t, err)
		require.Empty(t, a.Broken, p.what)
		closed(t, back)
	}
	require.Equal(t, before, everyRow(t, path), "the study itself is not changed")
}

func TestRewindRefuses(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "s.study")
	db, _, _ := seeded(t, path)
	end, _, err := db.TrailEnd(t.Context())
	require.NoError(t, err)
	require.NoError(t, db.SetSetting(t.Context(), "rule", "first", study.Stamp{Reader: "R1", At: by.At.Add(time.Hour)}))
	require.NoError(t, db.SetSetting(t.Context(), "rule", "averaged", study.Stamp{Reader: "R1", At: by.At.Add(time.Minute)}))
	closed(t, db)
	for name, c := range map[string]struct {
		to   study.Then
		says string
	}{
		"a row that there is not": {study.Then{Row: end + 3}, fmt.Sprintf("the audit trail has no row %d: its last is %d", end+3, end+2)},
		"before all":              {study.Then{At: by.At.Add(-time.Hour)}, "before row 1 of its audit trail is not known"},
		"a clock that went back":  {study.Then{At: by.At.Add(30 * time.Minute)}, fmt.Sprintf("the clock was set back: row %d", end+2)},
	} {
		out := filepath.Join(dir, "out.study")
		_, err := Rewind(t.Context(), path, out, c.to)
		require.Error(t, err, name)
		require.Contains(t, study.Told(err), c.says, name)
		require.NoFileExists(t, out)
	}
}
