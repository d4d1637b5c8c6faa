package store

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// earlier writes the study file of a step of migration to a folder of its own.
func earlier(t *testing.T, step int) (path string) {
	t.Helper()
	in, err := os.Open(filepath.Join("testdata", fmt.Sprintf("step%d.study.gz", step)))
	require.NoError(t, err)
	z, err := gzip.NewReader(in)
	require.NoError(t, err)
	b, err := io.ReadAll(z)
	require.NoError(t, err)
	require.NoError(t, in.Close())
	path = filepath.Join(t.TempDir(), "old.study")
	require.NoError(t, os.WriteFile(path, b, 0o600))
	return path
}

// A study of any earlier version opens with everything that it held.
func TestEarlierVersions(t *testing.T) {
	for step := 1; step <= 6; step++ {
		t.Run(fmt.Sprint("step ", step), func(t *testing.T) {
			ctx := t.Context()
			path := earlier(t, step)
			db := openAt(t, path)
			for range 2 { // brought to this form, and opened in it
				checkEarlier(t, db, step)
				closed(t, db)
				require.Equal(t, []string{"old-backups", "old.study"}, names(t, filepath.Dir(path)))
				require.Len(t, Backups(path), 1, "of before it was changed")
				db = openAt(t, path)
				require.NoError(t, db.Check(ctx))
			}
			hips, err := db.Hips(ctx)
			require.NoError(t, err)
			h := hips[0]
			h.Group = "to go on with"
			_, err = db.SaveHip(ctx, h, by)
			require.NoError(t, err)
			r, err := db.Record(ctx, h.ID)
			require.NoError(t, err)
			g := r.Readings[0]
			g.ID, g.Supersedes = "new", "r1"
			require.NoError(t, db.AddReading(ctx, g))
			fresh, err := db.SaveHip(ctx, study.Hip{Patient: "P-018"}, by)
			require.NoError(t, err)
			assert.Equal(t, "H1", fresh.ID)
			closed(t, db)
		})
	}
}

func checkEarlier(t *testing.T, db *DB, step int) {
	t.Helper()
	ctx := t.Context()
	hips, err := db.Hips(ctx)
	require.NoError(t, err)
	require.Len(t, hips, 2)
	right, left := hips[0], hips[1]
	assert.Equal(t, []string{"P-017-right", "P-017-left"}, []string{right.ID, left.ID}, "an ID never changes")
	assert.Equal(t, []int{1, 1}, []int{right.Revision, left.Revision})
	assert.Equal(t, []string{"sha1", "sha1"}, []string{right.Baseline, left.Baseline}, "one film of both")
	if assert.Equal(t, 6.2, right.Implant.LinerMM); step >= 3 {
		assert.Equal(t, "alumina", left.Implant.HeadMaterial)
	}

	r, err := db.Record(ctx, right.ID)
	require.NoError(t, err)
	l, err := db.Record(ctx, left.ID)
	require.NoError(t, err)
	ids := func(r study.Record) (out []string) {
		for _, f := range r.Films {
			out = append(out, f.ID)
		}
		return out
	}
	if step >= 2 {
		assert.Equal(t, []string{"sha1", "sha2", "sha3", "sha4"}, ids(r), "films that were merely open are films")
		assert.Equal(t, 2, r.Drafts)
		assert.Len(t, l.Exclusions, 1)
		drafts, err := db.Drafts(ctx, right.ID)
		require.NoError(t, err)
		require.Len(t, drafts, 2)
		for i, film := range []string{"sha2", "sha4"} {
			assert.Equal(t, film, drafts[i].FilmID)
			assert.Equal(t, study.Edited, drafts[i].Kind)
			assert.Contains(t, string(drafts[i].Outlines), `"At"`)
		}
	} else {
		assert.Equal(t, []string{"sha1", "sha2"}, ids(r))
	}
	assert.Equal(t, []string{"sha1"}, ids(l), "the film that was kept twice is one")
	checkEarlierFilm(t, db, l.Films[0], step)
	checkEarlierReadings(t, db, r, l, step)
	reader, _, err := db.Setting(ctx, "readings that count")
	require.NoError(t, err)
	assert.Equal(t, "R1", reader)
}

func checkEarlierFilm(t *testing.T, db *DB, f study.Film, step int) {
	t.Helper()
	want := study.Film{ID: "sha1", Path: "/films/2004-06-14.dcm", Revision: 1,
		Facts: study.Facts{SHA256: "sha1", Patient: "P-017", Date: time.Date(2004, 6, 14, 0, 0, 0, 0, time.UTC),
			Width: 2400, Height: 2880, SpacingMM: 0.143, SpacingKind: "imager"}}
	before := 1
	if step >= 4 {
		want.Facts.View, want.Facts.SourceMM, want.Facts.Field = study.AP, 1150, &measure.Point{X: 1200, Y: 1440}
		want.Given.Center = &measure.Point{X: 1190, Y: 1450} // of the twin: the first had none
	}
	assert.Equal(t, want, f)
	changes, err := db.FilmChanges(t.Context(), f.ID)
	require.NoError(t, err)
	require.Len(t, changes, before)
	assert.Equal(t, "sha1-left", changes[0].Before.ID, "what was joined is kept")
}

func checkEarlierReadings(t *testing.T, db *DB, r, l study.Record, step int) {
	t.Helper()
	var ids []string
	for _, g := range r.Readings {
		ids = append(ids, g.ID)
		assert.Equal(t, r.Hip.ID, g.HipID)
	}
	require.Equal(t, []string{"r1", "r2", "r3", "r5"}, ids)
	require.Len(t, l.Readings, 1)
	g := l.Readings[0]
	assert.Equal(t, []string{"r4", "sha1", l.Hip.ID}, []string{g.ID, g.FilmID, g.HipID})
	assert.Equal(t, measure.Left, g.Side)
	assert.Equal(t, "r2", r.Readings[2].Supersedes)
	assert.Equal(t, step < 6, r.Readings[2].Stands(), "withdrawn")
	assert.Equal(t, study.Note{Text: "no cup"}, r.Readings[3].Reason)
	assert.Equal(t, measure.Circle{X: 800, Y: 900, R: 105}, g.Head.Circle)
	assert.Equal(t, [3][3]float64{{0.01, 0.001, 0}, {0.001, 0.02, 0}, {0, 0, 0.005}}, g.Cup.Cov)
	assert.Equal(t, 0.5, g.Measurement.Reading.Offset.Superior)
	assert.Equal(t, []study.Warning{{Text: "short arc"}}, g.Warnings)
	assert.Equal(t, study.Kept{Head: 9, Cup: 9}, g.Kept)
	p, err := db.Points(t.Context(), "r4")
	require.NoError(t, err)
	require.Len(t, p.Head.All, 12)
	e := p.Head.All[3]
	assert.Equal(t, "neck", e.Reject)
	assert.InDelta(t, 800+105-3.0/7, e.X, 0.001)
	assert.InDelta(t, 930, e.Y, 0.001)
	assert.Len(t, p.Head.Fitted, 9)
	assert.Len(t, p.Cup.Residuals, 9)
}

// A study from before the trail has one that holds, with who changed what, and goes on in it.
func TestTrailOfEarlierVersions(t *testing.T) {
	for _, step := range []int{1, 2, 3, 4, 5, 6, 8, 9} {
		t.Run(fmt.Sprint("step ", step), func(t *testing.T) {
			ctx := t.Context()
			db := openAt(t, earlier(t, step))
			defer closed(t, db)
			a, err := db.Audit(ctx)
			require.NoError(t, err)
			require.Empty(t, a.Broken)
			require.Equal(t, 5, a.Readings)
			kinds := map[string]int{}
			require.NoError(t, db.Trail(ctx, func(row study.TrailRow) error {
				kinds[row.What]++
				require.Equal(t, beforeTrail, row.Why)
				require.Contains(t, []string{"reading", "withdrawal", "exclusion", "hip", "film", "event", "grade", "link", "setting", "patient", "variable", "value"}, row.What)
				require.True(t, row.What != "reading" || row.Reader != "" && !row.At.IsZero())
				return nil
			}))
			require.Equal(t, 5, kinds["reading"])
			if step < 8 {
				return
			}
			require.Equal(t, 4, kinds["hip"], "two changes of one, the others as they are or were added")
			hips, err := db.HipChanges(ctx, "P-017-right")
			require.NoError(t, err)
			require.Len(t, hips, 2)
			require.Equal(t, "B", hips[1].Before.Group)
			require.Equal(t, "R2", hips[1].Reader)
			f, err := db.SaveFilm(ctx, study.Film{Path: "new.dcm"}, by)
			require.NoError(t, err)
			require.Equal(t, "F3", f.ID, "an ID of a film that is gone is not given again")
			if step == 9 {
				require.Equal(t, []int{1, 1, 1, 1, 1}, []int{kinds["patient"], kinds["variable"], kinds["value"], kinds["event"], kinds["grade"]})
			}
		})
	}
}

// A study from before drafts of lists has its lists, and takes drafts of them.
func TestListsOfAnEarlierVersion(t *testing.T) {
	ctx := t.Context()
	db := openAt(t, earlier(t, 11))
	defer closed(t, db)
	a, err := db.Audit(ctx)
	require.NoError(t, err)
	require.Empty(t, a.Broken)
	all, err := db.Lists(ctx)
	require.NoError(t, err)
	require.Len(t, all, 2)
	require.Len(t, all[1].Places, 6)
	require.NoError(t, db.SaveListDraft(ctx, study.ListDraft{ListID: "L2", Place: 6, At: by.At, Outlines: []byte("{}")}))
	_, ok, err := db.ListDraft(ctx, "L2", 6)
	require.NoError(t, err)
	require.True(t, ok)
}

// A migration that is broken off leaves the file as it was.
func TestEarlierVersionBrokenOff(t *testing.T) {
	path := earlier(t, 6)
	db, err := connect(path)
	require.NoError(t, err)
	_, err = db.Exec("DROP TRIGGER reading_update; UPDATE reading SET head = '{\"Zoom\":1}' WHERE id = 'r4'; " +
		"CREATE TRIGGER reading_update BEFORE UPDATE ON reading BEGIN SELECT RAISE (ABORT, 'readings are never changed'); END")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	_, err = Open(path)
	require.Equal(t, `migration 7: reading 4: json: unknown field "Zoom" (old.study)`, study.Told(err))
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

// Who waits for an earlier version's file is told how far it has come, and may give up: the
// file is then as it was, with all that an earlier program needs.
func TestMovingIsTold(t *testing.T) {
	for step := 1; step <= 6; step++ {
		path := earlier(t, step)
		before, err := os.ReadFile(path)
		require.NoError(t, err)
		for _, at := range []int{0, 1, 5} {
			ctx, stop := context.WithCancel(t.Context())
			_, err := OpenTold(ctx, path, func(done, _ int) {
				if done == at {
					stop()
				}
			})
			stop()
			require.ErrorIs(t, err, context.Canceled)
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			require.Equal(t, before, after)
			require.Contains(t, [][]string{{"old.study"}, {"old-backups", "old.study"}}, names(t, filepath.Dir(path)))
			require.True(t, Earlier(path))
		}
		var told [][2]int
		db, err := OpenTold(t.Context(), path, func(done, of int) { told = append(told, [2]int{done, of}) })
		require.NoError(t, err)
		require.Equal(t, [][2]int{{0, 5}, {1, 5}, {2, 5}, {3, 5}, {4, 5}, {5, 5}}, told)
		checkEarlier(t, db, step)
		closed(t, db)
		require.False(t, Earlier(path))
		db, err = OpenTold(t.Context(), path, func(int, int) { t.Error("a file of this form is not changed") })
		require.NoError(t, err)
		closed(t, db)
	}
}

// What is no study of an earlier version is not taken for one.
func TestEarlierTellsOnlyEarlierVersions(t *testing.T) {
	dir := t.TempDir()
	text, short, newer := filepath.Join(dir, "text"), filepath.Join(dir, "short"), filepath.Join(dir, "newer")
	require.NoError(t, os.WriteFile(text, bytes.Repeat([]byte("hip,years\n"), 20), 0o600))
	require.NoError(t, os.WriteFile(short, []byte(magic), 0o600))
	sqliteFile(t, newer, fmt.Sprintf("PRAGMA x.application_id = %d; PRAGMA x.user_version = 99", applicationID))
	for _, path := range []string{text, short, newer, dir, filepath.Join(dir, "none")} {
		require.False(t, Earlier(path), path)
	}
}

// A study of many readings can be closed as soon as it has been brought to this form.
func TestManyEarlierReadings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "old.study")
	manyEarlier(t, path, 4)
	old, err := connect(path)
	require.NoError(t, err)
	type kept struct{ id, film, head, cup string }
	want, err := collect(t.Context(), old, "SELECT id, film_id, head, cup FROM reading ORDER BY seq", nil, func(scan scanner) (k kept, err error) {
		return k, scan(&k.id, &k.film, &k.head, &k.cup)
	})
	require.NoError(t, err)
	require.NoError(t, old.Close())
	closed(t, openAt(t, path))

	db := openAt(t, path)
	defer closed(t, db)
	var got []kept
	require.NoError(t, db.Records(t.Context(), func(r study.Record) error {
		for _, g := range r.Readings {
			p, err := db.Points(t.Context(), g.ID)
			require.NoError(t, err)
			g = g.With(p)
			for _, o := range []struct {
				now  study.Outline
				text string
			}{{g.Head, want[len(got)].head}, {g.Cup, want[len(got)].cup}} {
				var was study.Outline
				require.NoError(t, decode(o.text, &was))
				require.Equal(t, was.Circle, o.now.Circle)
				require.Len(t, o.now.Points, len(was.Points))
				for i, e := range was.Edges { // they are kept to 0.001 px in each direction
					require.InDelta(t, 0, math.Hypot(e.X-o.now.Edges[i].X, e.Y-o.now.Edges[i].Y), 0.001)
				}
			}
			got = append(got, kept{g.ID, g.FilmID, want[len(got)].head, want[len(got)].cup})
		}
		return nil
	}))
	require.Equal(t, want, got, "in their order")
}
