package storetest

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// listOf returns a list of R1 with a hip's film twice and another once, not saved.
func listOf(h study.Hip, a, b study.Film) study.List {
	return study.List{Reader: "R1", Kind: study.ReadList, Seed: 1<<63 + 5, Share: 0.5, Gap: 1, Days: 3, Start: study.StartBlank, Shows: true,
		Places: []study.Place{{HipID: h.ID, FilmID: a.ID, Occasion: 1, Double: a.ID}, {HipID: h.ID, FilmID: b.ID, Occasion: 1, Double: a.ID},
			{HipID: h.ID, FilmID: a.ID, Occasion: 2, Double: a.ID}}}
}

// listing saves a list and returns it with its hip and films.
func listing(t *testing.T, st study.Store) (study.List, study.Hip, study.Film, study.Film) {
	t.Helper()
	h, a := saved(t, st)
	b := addFilm(t, st, h, Film("b", "2005-06-14"))
	out, err := st.AddLists(t.Context(), []study.List{listOf(h, a, b)}, by)
	require.NoError(t, err)
	require.Len(t, out, 1)
	return out[0], h, a, b
}

// at returns a reading of a place of l.
func at(l study.List, place int, id string, h study.Hip, f study.Film) study.Reading {
	g := Reading(id, h, f)
	g.Reader = l.Reader
	g.Listed = study.Listed{List: l.ID, Kind: l.Kind, Place: place, Occasion: l.Places[place-1].Occasion, Start: l.Start, Untouched: true}
	return g
}

func lists(t *testing.T, st study.Store) {
	ctx := t.Context()
	none, err := st.Lists(ctx)
	require.NoError(t, err)
	require.Empty(t, none)
	l, h, a, b := listing(t, st)
	require.NotEmpty(t, l.ID)
	want := listOf(h, a, b)
	want.ID, want.Made = l.ID, by
	require.Equal(t, want, l)

	second, other := listOf(h, a, b), listOf(h, a, b)
	second.Reader, other.Reader = "R2", "R3"
	other.Places[1].FilmID = "F999"
	_, err = st.AddLists(ctx, []study.List{second, other}, by)
	require.ErrorIs(t, err, study.ErrUnknown, "all of them or none")
	all, err := st.Lists(ctx)
	require.NoError(t, err)
	require.Equal(t, []study.List{want}, all)

	u := study.Unblinding{ListID: l.ID, Stamp: by}
	require.NoError(t, st.AddUnblinding(ctx, u))
	require.ErrorIs(t, st.AddUnblinding(ctx, u), study.ErrListClosed)
	u.ListID = "L99"
	require.ErrorIs(t, st.AddUnblinding(ctx, u), study.ErrUnknown)
	all, err = st.Lists(ctx)
	require.NoError(t, err)
	require.Equal(t, study.Unblinding{ListID: l.ID, Stamp: by}, *all[0].Opened)
	require.ErrorIs(t, st.AddReading(ctx, at(l, 1, "late", h, a)), study.ErrListClosed)
}

func listed(t *testing.T, st study.Store) {
	ctx := t.Context()
	l, h, a, b := listing(t, st)
	first := at(l, 1, "r1", h, a)
	require.NoError(t, st.AddReading(ctx, first))
	list, err := st.Readings(ctx, h.ID)
	require.NoError(t, err)
	require.Equal(t, first.Listed, list[0].Listed)
	r, err := st.Record(ctx, h.ID)
	require.NoError(t, err)
	require.Equal(t, first.Listed, r.Readings[0].Listed)
	require.ErrorIs(t, st.AddReading(ctx, at(l, 1, "r2", h, a)), study.ErrPlaceDone)

	beside := Reading("r3", h, a)
	beside.Reader = l.Reader
	require.NoError(t, st.AddNext(ctx, beside), "a reading of no list supersedes none of one")

	e := study.Exclusion{HipID: h.ID, FilmID: b.ID, Code: "exposure", Scope: study.ForReader, List: l.ID, Place: 2, Reader: "R1", At: by.At, Version: "0.1"}
	require.NoError(t, st.AddExclusion(ctx, e))
	require.ErrorIs(t, st.AddExclusion(ctx, e), study.ErrPlaceDone)
	require.ErrorIs(t, st.AddReading(ctx, at(l, 2, "r4", h, b)), study.ErrPlaceDone)
	kept, err := st.Exclusions(ctx, h.ID)
	require.NoError(t, err)
	require.Equal(t, []study.Exclusion{e}, kept)
	done, err := st.ListDone(ctx, l.ID)
	require.NoError(t, err)
	require.Equal(t, study.Done{1: first.At, 2: e.At}, done)

	require.NoError(t, st.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r1", Reader: "R9", At: by.At.Add(time.Hour), Version: "0.1"}))
	back := e
	back.Code = ""
	require.NoError(t, st.AddExclusion(ctx, back))
	done, err = st.ListDone(ctx, l.ID)
	require.NoError(t, err)
	require.Empty(t, done)
	require.NoError(t, st.AddReading(ctx, at(l, 1, "r5", h, a)), "the place is open again")
	require.NoError(t, st.AddReading(ctx, at(l, 3, "r6", h, a)))
}

func unasked(t *testing.T, st study.Store) {
	ctx := t.Context()
	l, h, a, b := listing(t, st)
	for name, change := range map[string]func(*study.Reading){
		"another reader":   func(r *study.Reading) { r.Reader = "R2" },
		"another film":     func(r *study.Reading) { r.FilmID, r.Film = b.ID, b },
		"another occasion": func(r *study.Reading) { r.Listed.Occasion = 2 },
		"another start":    func(r *study.Reading) { r.Listed.Start = study.StartProposal },
		"another kind":     func(r *study.Reading) { r.Listed.Kind = study.AdjudicateList },
		"place 0":          func(r *study.Reading) { r.Listed.Place = 0 },
		"place 4":          func(r *study.Reading) { r.Listed.Place = 4 },
	} {
		r := at(l, 1, "r1", h, a)
		change(&r)
		require.ErrorIs(t, st.AddReading(ctx, r), study.ErrNoPlace, name)
	}
	r := at(l, 1, "r1", h, a)
	r.Listed.List = "L99"
	require.ErrorIs(t, st.AddReading(ctx, r), study.ErrUnknown)
	e := study.Exclusion{HipID: h.ID, FilmID: b.ID, Code: "exposure", List: l.ID, Place: 1, Reader: "R1", At: by.At, Version: "0.1"}
	require.ErrorIs(t, st.AddExclusion(ctx, e), study.ErrNoPlace)
	done, err := st.ListDone(ctx, l.ID)
	require.NoError(t, err)
	require.Empty(t, done)
}

// A reader has one list to read, whoever makes another.
func oneList(t *testing.T, st study.Store) {
	ctx := t.Context()
	l, h, a, b := listing(t, st)
	second, third := listOf(h, a, b), listOf(h, a, b)
	second.Reader, third.Reader = "R2", "R2"
	refused := func(made ...study.List) {
		t.Helper()
		_, err := st.AddLists(ctx, made, by)
		require.ErrorIs(t, err, study.ErrHasList)
		all, err := st.Lists(ctx)
		require.NoError(t, err)
		require.Len(t, all, 1)
	}
	refused(listOf(h, a, b))
	refused(second, third)

	errs := make(chan error, 2) // two that ask at once
	for range 2 {
		go func() { _, err := st.AddLists(ctx, []study.List{second}, by); errs <- err }()
	}
	one, two := <-errs, <-errs
	require.NotEqual(t, one == nil, two == nil, "%v, %v", one, two)

	for i, f := range []study.Film{a, b, a} {
		require.NoError(t, st.AddReading(ctx, at(l, i+1, "r"+string(rune('1'+i)), h, f)))
	}
	_, err := st.AddLists(ctx, []study.List{listOf(h, a, b)}, by)
	require.NoError(t, err, "the first is read")
	require.NoError(t, st.AddUnblinding(ctx, study.Unblinding{ListID: "L2", Stamp: by}))
	_, err = st.AddLists(ctx, []study.List{second}, by)
	require.NoError(t, err, "the second is closed")
}

func listDrafts(t *testing.T, st study.Store) {
	ctx := t.Context()
	l, _, _, _ := listing(t, st)
	none := func(place int) {
		t.Helper()
		_, ok, err := st.ListDraft(ctx, l.ID, place)
		require.NoError(t, err)
		require.False(t, ok)
	}
	none(1)
	d := study.ListDraft{ListID: l.ID, Place: 1, At: by.At, Version: "0.1", Outlines: []byte(`{"a": 1}`)}
	require.NoError(t, st.SaveListDraft(ctx, d))
	d.At, d.Outlines = by.At.Add(time.Minute), []byte(`{"a": 2}`)
	require.NoError(t, st.SaveListDraft(ctx, d), "in place of the first")
	got, ok, err := st.ListDraft(ctx, l.ID, 1)
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, d, got)
	none(2)
	strange := d
	strange.ListID = "L9"
	require.ErrorIs(t, st.SaveListDraft(ctx, strange), study.ErrUnknown)
	half := d
	half.Outlines = []byte("{")
	require.Error(t, st.SaveListDraft(ctx, half))
	require.NoError(t, st.DropListDraft(ctx, l.ID, 2), "there need be none")
	require.NoError(t, st.DropListDraft(ctx, l.ID, 1))
	none(1)
}
