package central

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// A study goes to a server, is worked on, and comes back, whole each time.
func TestThereAndBack(t *testing.T) {
	ctx := t.Context()
	address := database(t)
	path, back := filepath.Join(t.TempDir(), "a.linerwatch"), filepath.Join(t.TempDir(), "b.linerwatch")
	file, err := store.Create(path)
	require.NoError(t, err)
	h, f := seed(t, file)
	require.NoError(t, file.AddReading(ctx, storetest.Reading("r1", h, f)))
	_, err = file.AddEvent(ctx, study.Event{HipID: h.ID, Kind: study.Lost, Date: by.At, Stamp: by})
	require.NoError(t, err)
	_, err = file.AddLists(ctx, []study.List{{Reader: "R1", Kind: study.ReadList, Start: study.StartBlank, Places: []study.Place{{HipID: h.ID, FilmID: f.ID, Occasion: 1}}}}, by)
	require.NoError(t, err)
	draft := study.ListDraft{ListID: "L1", Place: 1, At: by.At, Version: "0.1", Outlines: []byte(`{"a":1}`)}
	require.NoError(t, file.SaveListDraft(ctx, draft))
	require.NoError(t, file.Close())

	files := Files(store.Files())
	require.NoError(t, files.Copy(ctx, path, address))
	require.Error(t, files.Copy(ctx, path, address), "nothing is replaced")
	s := opened(t, address)
	next := storetest.Reading("r2", h, f)
	next.Supersedes = "r1"
	require.NoError(t, s.AddNext(ctx, next))
	e, err := s.AddEvent(ctx, study.Event{HipID: h.ID, TakesBack: "E1", Stamp: by})
	require.NoError(t, err)
	assert.Equal(t, "E2", e.ID)
	require.NoError(t, files.Copy(ctx, address, back))
	file, err = store.Open(back)
	require.NoError(t, err)
	defer func() { require.NoError(t, file.Close()) }()
	var records [2]study.Record
	var audits [2]study.Audit
	for i, st := range []study.Store{s, file} {
		records[i], err = st.Record(ctx, h.ID)
		require.NoError(t, err)
		audits[i], err = st.Audit(ctx)
		require.NoError(t, err)
		assert.Empty(t, audits[i].Broken)
		d, ok, err := st.ListDraft(ctx, "L1", 1)
		require.NoError(t, err)
		require.True(t, ok)
		require.Equal(t, draft, d)
	}
	assert.Equal(t, records[0], records[1])
	assert.Equal(t, audits[0], audits[1])
	assert.Len(t, records[0].Readings, 2)
}

// A study on a server is joined with a file, from either side, and taken back, as a file is.
func TestMergeAndRewindOfAServer(t *testing.T) {
	ctx := t.Context()
	dir, address := t.TempDir(), database(t)
	path := func(name string) string { return filepath.Join(dir, name+study.FileExt) }
	file, err := store.Create(path("a"))
	require.NoError(t, err)
	h, f := seed(t, file)
	require.NoError(t, file.AddReading(ctx, storetest.Reading("both", h, f)))
	then, _, err := file.TrailEnd(ctx)
	require.NoError(t, err)
	require.NoError(t, file.SaveAs(ctx, path("b")))
	files := Files(store.Files())
	require.NoError(t, files.Copy(ctx, path("b"), address))
	add := func(st study.Store, id string) {
		t.Helper()
		r := storetest.Reading(id, h, f)
		r.Reader = id
		require.NoError(t, st.AddReading(ctx, r))
		_, err := st.AddEvent(ctx, study.Event{HipID: h.ID, Kind: study.Lost, Date: by.At, Note: id, Stamp: by})
		require.NoError(t, err)
	}
	add(file, "at the file")
	require.NoError(t, file.Close())
	s := opened(t, address)
	add(s, "at the server")
	require.NoError(t, files.Copy(ctx, address, path("c")))

	for name, c := range map[string][4]string{
		"server second": {path("a"), address, path("a"), path("c")},
		"server first":  {address, path("a"), path("c"), path("a")},
	} {
		got, err := files.Merge(ctx, c[0], c[1], path(name), [2]string{}, by)
		require.NoError(t, err, name)
		require.Empty(t, got.Clashes)
		want, err := files.Merge(ctx, c[2], c[3], path(name+" as files"), [2]string{}, by)
		require.NoError(t, err, name)
		assert.Equal(t, want, got, name)
		assert.Equal(t, 1, got.Count("reading").Added)
		var all [2]study.Record
		for i, of := range []string{name, name + " as files"} {
			st, err := store.Open(path(of))
			require.NoError(t, err)
			all[i], err = st.Record(ctx, h.ID)
			require.NoError(t, err)
			a, err := st.Audit(ctx)
			require.NoError(t, err)
			assert.Empty(t, a.Broken)
			require.NoError(t, st.Close())
		}
		assert.Equal(t, all[1], all[0], name)
		assert.Len(t, all[0].Readings, 3)
	}
	_, err = files.Merge(ctx, path("a"), path("c"), address, [2]string{}, by)
	require.Equal(t, "studies are joined in a file: name one, and have linerwatch study copy put it on a server", study.Told(err))

	last, err := files.Rewind(ctx, address, path("then"), study.Then{Row: then})
	require.NoError(t, err)
	assert.Equal(t, then, last.Seq)
	st, err := store.Open(path("then"))
	require.NoError(t, err)
	defer func() { require.NoError(t, st.Close()) }()
	a, err := st.Audit(ctx)
	require.NoError(t, err)
	assert.Empty(t, a.Broken)
	assert.Equal(t, then, a.Changes)
	r, err := st.Record(ctx, h.ID)
	require.NoError(t, err)
	assert.Len(t, r.Readings, 1)
	assert.Empty(t, r.Events)
}
