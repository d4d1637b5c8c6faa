package store

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// trailOf returns every row of a study's trail.
func trailOf(t *testing.T, db *DB) (out []study.TrailRow) {
	t.Helper()
	require.NoError(t, db.Trail(t.Context(), func(row study.TrailRow) error { out = append(out, row); return nil }))
	return out
}

// more adds a film of a hip and a reading of it, and what may stand beside one.
func more(t *testing.T, db *DB, h study.Hip, name string) {
	t.Helper()
	ctx := t.Context()
	f, err := db.SaveFilm(ctx, storetest.Film(name, "2010-02-03"), by)
	require.NoError(t, err)
	require.NoError(t, db.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, by))
	r := storetest.Reading("r-"+name, h, f)
	require.NoError(t, db.AddReading(ctx, r))
	require.NoError(t, db.AddWithdrawal(ctx, study.Withdrawal{ReadingID: r.ID, Reader: "R2", At: by.At}))
	require.NoError(t, db.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: f.ID, Quality: "B", Note: name, Stamp: by}))
	_, err = db.AddLists(ctx, []study.List{{Reader: name, Kind: study.ReadList, Seed: 7, Start: study.StartBlank,
		Places: []study.Place{{HipID: h.ID, FilmID: f.ID, Occasion: 1}}}}, by)
	require.NoError(t, err)
	e, err := db.AddEvent(ctx, study.Event{HipID: h.ID, Kind: study.Lost, Date: by.At, Note: name, Stamp: by})
	require.NoError(t, err)
	_, err = db.AddEvent(ctx, study.Event{HipID: h.ID, TakesBack: e.ID, Note: name, Stamp: by})
	require.NoError(t, err)
}

func merged(t *testing.T, dir, a, b string, sites [2]string) (study.Merged, *DB) {
	t.Helper()
	out := filepath.Join(dir, "out.study")
	m, err := Merge(t.Context(), a, b, out, sites, by)
	require.NoError(t, err, study.Told(err))
	require.Empty(t, m.Clashes)
	return m, openAt(t, out)
}

// Two copies of one study that were read at two places are one again: what both had from
// before is kept once.
func TestMergeOfCopies(t *testing.T) {
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.study"), filepath.Join(dir, "b.study")
	first, h, _ := seeded(t, a)
	more(t, first, h, "both")
	require.NoError(t, first.SaveAs(t.Context(), b))
	more(t, first, h, "here")
	other := openAt(t, b)
	more(t, other, h, "there 1") // takes the ID that the film of the first has
	more(t, other, h, "there 2")
	ours, theirs := trailOf(t, first), trailOf(t, other)
	shared := 0
	for shared < len(ours) && ours[shared] == theirs[shared] {
		shared++
	}
	require.Positive(t, shared)
	closed(t, first)
	closed(t, other)

	m, db := merged(t, dir, a, b, [2]string{})
	defer closed(t, db)
	assert.Equal(t, study.MergedKind{Name: "reading", Added: 2, Same: 1}, *m.Count("reading"))
	assert.Equal(t, study.MergedKind{Name: "film", Added: 2, Same: 2}, *m.Count("film"))
	assert.Equal(t, study.MergedKind{Name: "event", Added: 4, Same: 2}, *m.Count("event"))
	assert.Equal(t, study.MergedKind{Name: "hip", Same: 1}, *m.Count("hip"))
	r, err := db.Record(t.Context(), h.ID)
	require.NoError(t, err)
	assert.Len(t, r.Films, 5)
	assert.Len(t, r.Readings, 4)
	assert.Len(t, r.Grades, 4)
	assert.Len(t, r.Events, 8)
	for _, g := range r.Readings {
		assert.NotNil(t, g.Withdrawn, g.ID)
		_, err := db.Points(t.Context(), g.ID)
		require.NoError(t, err)
		assert.Equal(t, "films/"+g.ID[2:]+".dcm", g.Film.Path, "on its own film")
	}
	for i := 1; i < len(r.Events); i += 2 {
		assert.Equal(t, r.Events[i-1].ID, r.Events[i].TakesBack)
	}
	lists, err := db.Lists(t.Context())
	require.NoError(t, err)
	require.Len(t, lists, 4)
	for i, l := range lists {
		assert.Equal(t, fmt.Sprint("L", i+1), l.ID)
		film := slices.IndexFunc(r.Films, func(f study.Film) bool { return f.ID == l.Places[0].FilmID })
		assert.Equal(t, "films/"+l.Reader+".dcm", r.Films[film].Path)
	}
	all := trailOf(t, db)
	assert.Equal(t, ours, all[:len(ours)], "the first's own trail goes on")
	var kept []study.TrailRow
	for _, row := range all {
		if row.What == "study" {
			var was study.TrailRow
			require.NoError(t, json.Unmarshal([]byte(row.New), &was))
			kept = append(kept, was)
		}
	}
	assert.Equal(t, theirs[shared:], kept, "and the other's is kept from where they part")
	found, err := db.Audit(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
}

// Patients that two sites count alike are others where the sites are said.
func TestMergeOfSites(t *testing.T) {
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.study"), filepath.Join(dir, "b.study")
	for i, path := range []string{a, b} {
		db := created(t, path)
		h := storetest.Hip()
		h.Group = []string{"A", "B"}[i]
		h, err := db.SaveHip(t.Context(), h, by)
		require.NoError(t, err)
		more(t, db, h, []string{"x", "y"}[i])
		_, err = db.SavePatient(t.Context(), study.Patient{Code: h.Patient, HeightCM: 170 + float64(i)}, by)
		require.NoError(t, err)
		_, err = db.SaveVariable(t.Context(), study.Variable{Of: study.OfPatient, Name: "tilt", Type: study.YesNo}, by)
		require.NoError(t, err)
		require.NoError(t, db.SetValues(t.Context(), []study.Value{{Of: study.OfPatient, ID: "/" + h.Patient, Name: "tilt", Text: []string{"yes", "no"}[i]}}, by))
		closed(t, db)
	}
	out := filepath.Join(dir, "out.study")
	m, err := Merge(t.Context(), a, b, out, [2]string{}, by)
	require.NoError(t, err)
	var told []string
	for _, n := range m.Clashes {
		told = append(told, study.NoteWords(n))
	}
	assert.Equal(t, []string{
		`patient  P-017: height_cm is "170" in the first study, "171" in the other`,
		`hip P-017 right : baseline is "F1" in the first study, "F2" in the other`, // the films are of two pictures
		`hip P-017 right : study_group is "A" in the first study, "B" in the other`,
		`value patient /P-017 tilt: text is "yes" in the first study, "no" in the other`,
	}, told)
	require.NoFileExists(t, out)

	_, db := merged(t, dir, a, b, [2]string{"S1", "S2"})
	defer closed(t, db)
	list, err := db.Hips(t.Context())
	require.NoError(t, err)
	require.Len(t, list, 2)
	for i, h := range list {
		assert.Equal(t, []string{"S1", "S2"}[i], h.Site)
		r, err := db.Record(t.Context(), h.ID)
		require.NoError(t, err)
		assert.Equal(t, 170+float64(i), r.Patient.HeightCM)
		assert.Len(t, r.Readings, 1)
		require.Len(t, r.Values, 1)
		assert.Equal(t, []string{"yes", "no"}[i], r.Values[0].Text)
	}
	found, err := db.Audit(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
}

// A reader has one list to read at a time: two studies that give one two are not joined until one
// is read or closed.
func TestMergeLeavesAReaderOneList(t *testing.T) {
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.study"), filepath.Join(dir, "b.study")
	first, h, f := seeded(t, a)
	require.NoError(t, first.SaveAs(t.Context(), b))
	other := openAt(t, b)
	for i, db := range []*DB{first, other} {
		_, err := db.AddLists(t.Context(), []study.List{{Reader: "R2", Kind: study.ReadList, Seed: uint64(i), Start: study.StartBlank,
			Places: []study.Place{{HipID: h.ID, FilmID: f.ID, Occasion: 1}}}}, by)
		require.NoError(t, err)
	}
	out := filepath.Join(dir, "out.study")
	_, err := Merge(t.Context(), a, b, out, [2]string{}, by)
	require.Error(t, err)
	assert.Equal(t, "R2 would have two lists to read, L1 of the first study and L1 of the other: one is read or closed first (out.study)", study.Told(err))
	assert.NotContains(t, study.Told(err), "\n")
	assert.NoFileExists(t, out)

	require.NoError(t, other.AddUnblinding(t.Context(), study.Unblinding{ListID: "L1", Stamp: by}))
	closed(t, first)
	closed(t, other)
	_, db := merged(t, dir, a, b, [2]string{})
	defer closed(t, db)
	lists, err := db.Lists(t.Context())
	require.NoError(t, err)
	require.Len(t, lists, 2)
	assert.Nil(t, lists[0].Opened)
	assert.NotNil(t, lists[1].Opened)
}

// What is wrong is told once, with the name of the file that it is about.
func TestMergeOfWhatIsNoStudy(t *testing.T) {
	dir := t.TempDir()
	a, no, out := filepath.Join(dir, "a.study"), filepath.Join(dir, "no.study"), filepath.Join(dir, "out.study")
	db, _, _ := seeded(t, a)
	closed(t, db)
	require.NoError(t, os.WriteFile(no, []byte("patient,side,surgery\n"), 0o600))
	for want, files := range map[string][3]string{
		"not a study file (no.study)":                  {no, a, out},
		"there is no such file (none.study)":           {a, filepath.Join(dir, "none.study"), out},
		"a file of this name exists already (a.study)": {a, a, a},
		"there is no such folder (out.study)":          {a, a, filepath.Join(dir, "nowhere", "out.study")},
	} {
		_, err := Merge(t.Context(), files[0], files[1], files[2], [2]string{}, by)
		require.Error(t, err)
		assert.Equal(t, want, study.Told(err))
	}
	assert.Equal(t, []string{"a.study", "no.study"}, names(t, dir), "nothing is left")
}
