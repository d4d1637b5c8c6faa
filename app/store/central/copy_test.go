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
