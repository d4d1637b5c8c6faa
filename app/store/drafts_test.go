package store

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func TestDraftsAreReplacedAndDropped(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.study")
	db, f := seeded(t, path)
	at := time.Date(2026, 3, 4, 5, 6, 7, 8000, time.UTC)
	d := study.Draft{Film: f, At: at, Outlines: []byte(`{"Head":1}`)}
	require.NoError(t, db.SaveDraft(t.Context(), "H1", d))
	d.Outlines = []byte(`{"Head":2}`)
	require.NoError(t, db.SaveDraft(t.Context(), "H1", d))
	closed(t, db)

	db = openAt(t, path)
	got, err := db.Drafts(t.Context(), "H1")
	require.NoError(t, err)
	require.Equal(t, []study.Draft{d}, got)
	require.NoError(t, db.DropDraft(t.Context(), "H1", f.ID))
	require.NoError(t, db.DropDraft(t.Context(), "H1", f.ID), "there is none any more")
	got, err = db.Drafts(t.Context(), "H1")
	require.NoError(t, err)
	require.Empty(t, got)
	require.ErrorContains(t, db.SaveDraft(t.Context(), "H9", d), `keep the draft of film "`+f.ID+`"`, "no such hip")
	d.Outlines = []byte("{")
	require.Error(t, db.SaveDraft(t.Context(), "H1", d), "half a draft is none")
}

func TestExclusionsAreNeverChanged(t *testing.T) {
	db, f := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	out := study.Exclusion{HipID: "H1", FilmID: f.ID, Code: "projection", Reader: "R2", At: at, Version: "1"}
	in := out
	in.Code, in.At = "", at.Add(time.Hour)
	require.NoError(t, db.AddExclusion(t.Context(), out))
	require.NoError(t, db.AddExclusion(t.Context(), in))
	got, err := db.Exclusions(t.Context(), "H1")
	require.NoError(t, err)
	require.Equal(t, []study.Exclusion{out, in}, got)
	_, err = db.db.Exec("UPDATE exclusion SET code = ''")
	require.ErrorContains(t, err, "exclusions are never changed")
	_, err = db.db.Exec("DELETE FROM exclusion")
	require.ErrorContains(t, err, "exclusions are never deleted")
	out.FilmID = "none"
	require.Error(t, db.AddExclusion(t.Context(), out), "the film must have been saved")
}
