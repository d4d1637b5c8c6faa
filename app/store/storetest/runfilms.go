package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func films(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	undated := addFilm(t, st, h, study.Film{ID: "own"})
	assert.Equal(t, "own", undated.ID)
	early := Film("b", "2010-01-01")
	early.Given.Date = day("2001-01-01")
	early = addFilm(t, st, h, early)
	list, err := st.Films(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, []study.Film{undated, early, f}, list, "in the order of the dates that hold")
	before := f
	f.Given = study.Given{}
	f.Facts.Field, f.Facts.Axes = nil, study.Axes{}
	f, err = st.SaveFilm(ctx, f, by)
	require.NoError(t, err)
	assert.Equal(t, 2, f.Revision)
	list, err = st.Films(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, f, list[2])
	changes, err := st.FilmChanges(ctx, f.ID)
	require.NoError(t, err)
	assert.Equal(t, []study.FilmChange{{Stamp: by}, {Stamp: by, Before: before}}, changes)
}

func doubles(t *testing.T, st study.Store) {
	ctx := t.Context()
	_, f := saved(t, st)
	for name, facts := range map[string]study.Facts{
		"another file of the same picture": {SHA256: "other", PixelKey: f.Facts.PixelKey},
		"the same file, key not known":     {SHA256: f.Facts.SHA256},
	} {
		t.Run(name, func(t *testing.T) {
			got, ok, err := st.FilmByPixels(ctx, facts)
			require.NoError(t, err)
			require.True(t, ok)
			require.Equal(t, f, got)
			_, err = st.SaveFilm(ctx, study.Film{Facts: facts}, by)
			var double *study.DoubleError
			require.ErrorAs(t, err, &double)
			require.Equal(t, f, double.Film)
		})
	}
	for name, facts := range map[string]study.Facts{
		"nothing known":           {},
		"another picture":         {SHA256: "other", PixelKey: "other"},
		"two pictures, one file?": {SHA256: f.Facts.SHA256, PixelKey: "other"},
	} {
		t.Run(name, func(t *testing.T) {
			_, ok, err := st.FilmByPixels(ctx, facts)
			require.NoError(t, err)
			require.False(t, ok)
		})
	}
	for range 2 { // files that cannot be read have neither
		_, err := st.SaveFilm(ctx, study.Film{Waits: study.Unreadable}, by)
		require.NoError(t, err)
	}
}

func addsFilms(t *testing.T, st study.Store) {
	ctx := t.Context()
	_, f := saved(t, st)
	list := []study.Film{{Path: "c", Facts: study.Facts{PixelKey: "c"}, Waits: study.NotSorted}, {Path: "again", Facts: f.Facts}, {Path: "d", Waits: study.Unreadable},
		{Path: "twin", Facts: study.Facts{PixelKey: "c"}}}
	got, err := st.AddFilms(ctx, list, by)
	require.NoError(t, err)
	require.Len(t, got, 4)
	assert.Equal(t, f, got[1], "the film that is there")
	assert.Equal(t, got[0], got[3], "the film before it")
	unsorted, err := st.Unsorted(ctx)
	require.NoError(t, err)
	assert.ElementsMatch(t, []study.Film{got[0], got[2]}, unsorted)
	for _, i := range []int{0, 2} {
		want := list[i]
		want.ID, want.Revision = got[i].ID, 1
		assert.Equal(t, want, got[i])
		changes, err := st.FilmChanges(ctx, got[i].ID)
		require.NoError(t, err)
		assert.Equal(t, []study.FilmChange{{Stamp: by}}, changes)
	}
	got[0].Path = "moved"
	_, err = st.SaveFilm(ctx, got[0], by)
	require.NoError(t, err)

	_, err = st.AddFilms(ctx, []study.Film{{Path: "e"}, got[0]}, by)
	require.ErrorIs(t, err, study.ErrUnknown)
	unsorted, err = st.Unsorted(ctx)
	require.NoError(t, err)
	assert.Len(t, unsorted, 2, "none of them")
	got, err = st.AddFilms(ctx, nil, by)
	require.NoError(t, err)
	assert.Empty(t, got)
}

func moves(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	r := Reading("r1", h, f)
	require.NoError(t, st.AddReading(ctx, r))
	f.Path, f.Facts.SHA256 = "elsewhere/a.dcm", "sha-anew"
	f, err := st.SaveFilm(ctx, f, by)
	require.NoError(t, err)
	list, err := st.Readings(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, "elsewhere/a.dcm", list[0].Film.Path)
	assert.Equal(t, "sha-a", list[0].Film.Facts.SHA256, "of the file that was read")
	got, ok, err := st.FilmByPixels(ctx, study.Facts{PixelKey: "key-a", SHA256: "sha-a"})
	require.NoError(t, err)
	assert.True(t, ok)
	assert.Equal(t, f, got)
}

func links(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	g := addFilm(t, st, h, Film("b", "2003-01-01"))
	other, err := st.SaveHip(ctx, study.Hip{Patient: "P-017", Side: study.Left}, by)
	require.NoError(t, err)
	l := study.Link{HipID: other.ID, FilmID: f.ID, Searched: study.Refused, Reason: study.Note{Text: "no cup"}}
	require.NoError(t, st.SaveLink(ctx, l, by))
	for id, want := range map[string][]study.Film{h.ID: {g, f}, other.ID: {f}, "H999": nil} {
		list, err := st.Films(ctx, id)
		require.NoError(t, err)
		assert.Equal(t, want, list)
	}
	for id, want := range map[string][]string{f.ID: {h.ID, other.ID}, g.ID: {h.ID}, "F999": nil} {
		list, err := st.HipsOf(ctx, id)
		require.NoError(t, err)
		assert.Equal(t, want, list)
	}
	got, err := st.Links(ctx, other.ID)
	require.NoError(t, err)
	assert.Equal(t, []study.Link{l}, got)
	l.Searched, l.Reason = study.Measured, study.Note{}
	require.NoError(t, st.SaveLink(ctx, l, by))
	got, err = st.Links(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, []study.Link{{HipID: h.ID, FilmID: g.ID}, {HipID: h.ID, FilmID: f.ID}}, got, "in the order of the films")

	require.NoError(t, st.AddReading(ctx, Reading("right", h, f)))
	require.NoError(t, st.AddReading(ctx, Reading("left", other, f)))
	for id, want := range map[string]string{h.ID: "right", other.ID: "left"} {
		list, err := st.Readings(ctx, id)
		require.NoError(t, err)
		require.Len(t, list, 1)
		assert.Equal(t, want, list[0].ID)
	}
	require.Error(t, st.SaveLink(ctx, study.Link{HipID: "H999", FilmID: f.ID}, by))
	require.Error(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: "F999"}, by))
}

func unsorted(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, _ := saved(t, st)
	var want []study.Film
	for i, w := range []study.Waits{study.NotSorted, study.NotAP, study.Unreadable} {
		f := Film(string(w), []string{"2001-01-01", "2002-01-01", "2003-01-01"}[i])
		f.Waits, f.Reason = w, study.Note{Code: "because", Values: map[string]any{"N": 1.5}}
		f, err := st.SaveFilm(ctx, f, by)
		require.NoError(t, err)
		want = append(want, f)
	}
	got, err := st.Unsorted(ctx)
	require.NoError(t, err)
	assert.Equal(t, want, got)
	require.NoError(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: want[0].ID}, by))
	got, err = st.Unsorted(ctx)
	require.NoError(t, err)
	assert.Equal(t, want[1:], got)
}

func drops(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	g := addFilm(t, st, h, Film("b", "2005-01-01"))
	require.NoError(t, st.SaveDraft(ctx, draft(h, g, study.Edited)))
	require.NoError(t, st.DropLink(ctx, h.ID, g.ID, by))
	require.NoError(t, st.DropLink(ctx, h.ID, g.ID, by), "there is none any more")
	list, err := st.Unsorted(ctx)
	require.NoError(t, err)
	assert.Equal(t, []study.Film{g}, list)
	require.NoError(t, st.DropFilm(ctx, g.ID, by))
	require.NoError(t, st.DropFilm(ctx, g.ID, by), "there is none any more")
	list, err = st.Unsorted(ctx)
	require.NoError(t, err)
	assert.Empty(t, list)
	drafts, err := st.Drafts(ctx, h.ID)
	require.NoError(t, err)
	assert.Empty(t, drafts)

	require.NoError(t, st.AddReading(ctx, Reading("r1", h, f)))
	require.ErrorIs(t, st.DropLink(ctx, h.ID, f.ID, by), study.ErrRests)
	require.ErrorIs(t, st.DropFilm(ctx, f.ID, by), study.ErrRests)
	out := addFilm(t, st, h, Film("c", "2006-01-01"))
	require.NoError(t, st.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: out.ID, Code: "other", At: by.At}))
	require.ErrorIs(t, st.DropFilm(ctx, out.ID, by), study.ErrRests)
	films, err := st.Films(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, []study.Film{f, out}, films)
	again, err := st.SaveFilm(ctx, Film("d", "2007-01-01"), by)
	require.NoError(t, err)
	assert.NotContains(t, []string{f.ID, g.ID, out.ID}, again.ID, "an ID is given once")
}
