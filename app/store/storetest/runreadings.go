package storetest

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// place is how well a store has to keep where an edge lies: a thousandth of a pixel.
const place = 0.001

// alike checks edge points, which a store may round.
func alike(t *testing.T, want, got study.Points) {
	t.Helper()
	for _, c := range []struct{ want, got study.EdgePoints }{{want.Head, got.Head}, {want.Cup, got.Cup}} {
		require.Len(t, c.got.All, len(c.want.All))
		for i, e := range c.want.All {
			assert.InDelta(t, e.X, c.got.All[i].X, place)
			assert.InDelta(t, e.Y, c.got.All[i].Y, place)
			assert.InDelta(t, e.Residual, c.got.All[i].Residual, place)
			assert.InDelta(t, e.Angle, c.got.All[i].Angle, 0.001)
			assert.InEpsilon(t, e.Strength, c.got.All[i].Strength, 0.01)
			assert.InEpsilon(t, e.SD, c.got.All[i].SD, 0.01)
			assert.Equal(t, e.Reject, c.got.All[i].Reject)
		}
		require.Len(t, c.got.Fitted, len(c.want.Fitted))
		require.Len(t, c.got.Residuals, len(c.want.Residuals))
		for i, p := range c.want.Fitted {
			assert.InDelta(t, p.X, c.got.Fitted[i].X, place)
			assert.InDelta(t, p.Y, c.got.Fitted[i].Y, place)
			assert.InDelta(t, c.want.Residuals[i], c.got.Residuals[i], place)
		}
	}
}

func readings(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	g := addFilm(t, st, h, Film("b", "2005-01-01"))
	first, again := Reading("r1", h, f), Reading("r0", h, f)
	again.Supersedes, again.Reason, again.At = "r1", study.Note{Text: "reread"}, by.At.Add(-time.Hour)
	refused := study.Reading{ID: "r3", HipID: h.ID, FilmID: g.ID, At: by.At, Measurement: study.Measurement{Film: g, Status: study.Refused, Reason: study.Note{Text: "no cup"}}}
	ring := Reading("r4", h, g)
	ring.Cup.Ring = study.Ellipse{X: 801, Y: 902, A: 190, B: 40, Angle: 31}
	ring.Cup.RingCov[1][4], ring.Cup.Shared[2][0] = 0.5, 0.25
	ring.Line = study.Line{From: study.Drawn, B: study.Pixel{X: 900, Y: 3}, Alpha: 1.5, SE: 0.5}
	ring.How, ring.Beam = study.Method{Beam: true, Ring: true}, study.BeamUse{Corrected: true, SourceMM: 1150, CenterFrom: "given"}
	ring.Corrected = study.Corrected{Head: study.Circle{X: 1, Y: 2, R: 3}}
	ring.Rim = study.Rim{A: study.Pixel{X: 1, Y: 1}, Found: study.Ellipse{A: 5, B: 3}, Seen: 0.5, Why: study.Note{Code: "why", Values: study.Values{"Percent": 12.5}}}
	all := []study.Reading{first, again, refused, ring}
	for _, r := range all {
		require.NoError(t, st.AddReading(ctx, r))
	}
	got, err := st.Readings(ctx, h.ID)
	require.NoError(t, err)
	require.Len(t, got, len(all))
	for i, r := range all {
		assert.Equal(t, r.Bare(), got[i], "in the order in which they were added, without edge points")
		p, err := st.Points(ctx, r.ID)
		require.NoError(t, err)
		alike(t, r.Points(), p)
	}
	assert.Equal(t, study.Kept{Head: 11, Cup: 11}, got[0].Kept)
	_, err = st.Points(ctx, "r9")
	require.ErrorIs(t, err, study.ErrUnknown)
}

func refusals(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	g := addFilm(t, st, h, Film("b", "2005-01-01"))
	other, err := st.SaveHip(ctx, study.Hip{Patient: "P-018"}, by)
	require.NoError(t, err)
	require.NoError(t, st.SaveLink(ctx, study.Link{HipID: other.ID, FilmID: f.ID}, by))
	r := Reading("r1", h, f)
	require.NoError(t, st.AddReading(ctx, r))
	for name, change := range map[string]func(*study.Reading){
		"same id":              func(r *study.Reading) { r.ID = "r1" },
		"no id":                func(r *study.Reading) { r.ID = "" },
		"unknown film":         func(r *study.Reading) { r.FilmID, r.Film.ID = "F999", "F999" },
		"unknown hip":          func(r *study.Reading) { r.HipID = "H999" },
		"a film of another":    func(r *study.Reading) { r.HipID, r.FilmID, r.Film.ID = other.ID, g.ID, g.ID },
		"two films":            func(r *study.Reading) { r.FilmID = g.ID },
		"supersedes nothing":   func(r *study.Reading) { r.Supersedes = "r9" },
		"supersedes elsewhere": func(r *study.Reading) { r.FilmID, r.Film.ID, r.Supersedes = g.ID, g.ID, "r1" },
		"supersedes another's": func(r *study.Reading) { r.HipID, r.Supersedes = other.ID, "r1" },
		"not a number":         func(r *study.Reading) { r.Head.R = math.NaN() },
		"endless":              func(r *study.Reading) { r.Cup.RMS = math.Inf(1) },
		"unknown status":       func(r *study.Reading) { r.Status = "guessed" },
		"head not a number":    func(r *study.Reading) { r.HeadMM = math.NaN() },
	} {
		t.Run(name, func(t *testing.T) {
			bad := Reading("r2", h, f)
			change(&bad)
			err := st.AddReading(ctx, bad)
			require.Error(t, err)
			assert.NotContains(t, err.Error(), "\n")
		})
	}
	for _, hip := range []study.Hip{h, other} {
		list, err := st.Readings(ctx, hip.ID)
		require.NoError(t, err)
		if hip.ID == h.ID {
			assert.Equal(t, []study.Reading{r.Bare()}, list)
		} else {
			assert.Empty(t, list)
		}
	}
}

func withdrawals(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	for _, id := range []string{"r1", "r2"} {
		require.NoError(t, st.AddReading(ctx, Reading(id, h, f)))
	}
	read := func() []study.Reading {
		list, err := st.Readings(ctx, h.ID)
		require.NoError(t, err)
		require.Len(t, list, 2)
		return list
	}
	before := read()
	w := study.Withdrawal{ReadingID: "r2", Reader: "R2", At: by.At, Version: "1"}
	require.NoError(t, st.AddWithdrawal(ctx, w))
	after := read()
	require.Equal(t, before[0], after[0])
	require.Equal(t, &w, after[1].Withdrawn)
	after[1].Withdrawn = nil
	require.Equal(t, before[1], after[1], "the reading itself is as it was")
	require.NoError(t, st.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r2", Back: true, Reader: "R1", At: by.At}))
	require.Equal(t, before, read(), "the last decision holds")
	require.Error(t, st.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r9"}))
}

func draft(h study.Hip, f study.Film, kind study.DraftKind) study.Draft {
	return study.Draft{HipID: h.ID, FilmID: f.ID, Kind: kind, At: by.At, Version: "0.1", Outlines: []byte(`{"Head":1}`)}
}

func drafts(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	edited, proposed := draft(h, f, study.Edited), draft(h, f, study.Proposed)
	proposed.At = by.At.Add(-time.Minute)
	require.NoError(t, st.SaveDraft(ctx, edited))
	require.NoError(t, st.SaveDraft(ctx, proposed))
	edited.Outlines = []byte(`{"Head":2}`)
	require.NoError(t, st.SaveDraft(ctx, edited))
	got, err := st.Drafts(ctx, h.ID)
	require.NoError(t, err)
	require.Equal(t, []study.Draft{proposed, edited}, got)
	for range 2 {
		require.NoError(t, st.DropDraft(ctx, h.ID, f.ID, study.Edited))
	}
	got, err = st.Drafts(ctx, h.ID)
	require.NoError(t, err)
	require.Equal(t, []study.Draft{proposed}, got, "one of another kind stays")
	for name, change := range map[string]func(*study.Draft){
		"no such hip": func(d *study.Draft) { d.HipID = "H999" }, "no such film": func(d *study.Draft) { d.FilmID = "F999" },
		"no kind": func(d *study.Draft) { d.Kind = "" }, "half of one": func(d *study.Draft) { d.Outlines = []byte("{") },
	} {
		t.Run(name, func(t *testing.T) {
			bad := draft(h, f, study.Edited)
			change(&bad)
			require.Error(t, st.SaveDraft(ctx, bad))
		})
	}
}

func exclusions(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	out := study.Exclusion{HipID: h.ID, FilmID: f.ID, Code: "projection", Note: "turned\nand tilted", Reader: "R2", At: by.At, Version: "1"}
	in := out
	in.Code, in.At = "", by.At.Add(time.Hour)
	require.NoError(t, st.AddExclusion(ctx, out))
	require.NoError(t, st.AddExclusion(ctx, in))
	got, err := st.Exclusions(ctx, h.ID)
	require.NoError(t, err)
	require.Equal(t, []study.Exclusion{out, in}, got)
	out.FilmID = "F999"
	require.Error(t, st.AddExclusion(ctx, out), "the film must be one of the hip")
}

func settings(t *testing.T, st study.Store) {
	ctx := t.Context()
	_, ok, err := st.Setting(ctx, "window")
	require.NoError(t, err)
	assert.False(t, ok)
	for _, want := range []string{"1200x800", ""} {
		require.NoError(t, st.SetSetting(ctx, "window", want, by))
		got, ok, err := st.Setting(ctx, "window")
		require.NoError(t, err)
		assert.True(t, ok)
		assert.Equal(t, want, got)
	}
}

func records(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	g := addFilm(t, st, h, Film("b", "2003-01-01"))
	empty, err := st.SaveHip(ctx, study.Hip{Patient: "A"}, by)
	require.NoError(t, err)
	first, again := Reading("r1", h, f), Reading("r2", h, g)
	out := study.Exclusion{HipID: h.ID, FilmID: g.ID, Code: "other", At: by.At}
	require.NoError(t, st.AddReading(ctx, first))
	require.NoError(t, st.AddReading(ctx, again))
	require.NoError(t, st.AddExclusion(ctx, out))
	require.NoError(t, st.SaveDraft(ctx, draft(h, g, study.Edited)))
	require.NoError(t, st.SaveDraft(ctx, draft(h, f, study.Proposed)))
	want := study.Record{Hip: h, Patient: study.Patient{Code: h.Patient}, Films: []study.Film{g, f}, Readings: []study.Reading{first.Bare(), again.Bare()},
		Links:      []study.Link{{HipID: h.ID, FilmID: g.ID}, {HipID: h.ID, FilmID: f.ID}},
		Exclusions: []study.Exclusion{out}, Drafts: 1,
		Unaccepted: []study.Draft{draft(h, f, study.Proposed), draft(h, g, study.Edited)}}
	var got []study.Record
	require.NoError(t, st.Records(ctx, func(r study.Record) error { got = append(got, r); return nil }))
	require.Equal(t, []study.Record{{Hip: empty, Patient: study.Patient{Code: "A"}}, want}, got)
	for _, r := range got {
		one, err := st.Record(ctx, r.Hip.ID)
		require.NoError(t, err)
		require.Equal(t, r, one)
	}
	_, err = st.Record(ctx, "H999")
	require.ErrorIs(t, err, study.ErrUnknown)
	stop := errors.New("enough")
	n := 0
	err = st.Records(ctx, func(study.Record) error { n++; return stop })
	require.ErrorIs(t, err, stop)
	require.Equal(t, 1, n)
}

// half returns o fitted to its upper half.
func half(o study.Outline) study.Outline {
	o.Points, o.Residuals = nil, nil
	for i := range o.Edges {
		e := &o.Edges[i]
		if e.Y > o.Y {
			e.Reject = "below"
		}
		if e.Reject == "" {
			o.Points, o.Residuals = append(o.Points, e.Point), append(o.Residuals, e.Residual)
		}
	}
	return o
}

func nextReadings(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	first, second, third := Reading("r1", h, f), Reading("r2", h, f), Reading("r3", h, f)
	require.NoError(t, st.AddNext(ctx, first))
	require.ErrorIs(t, st.AddNext(ctx, second), study.ErrReadSince, "it does not know of the first")
	second.Supersedes = "r1"
	require.NoError(t, st.AddNext(ctx, second))
	third.Supersedes = "r1"
	require.ErrorIs(t, st.AddNext(ctx, third), study.ErrReadSince)
	require.NoError(t, st.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r2", Reader: second.Reader, At: by.At}))
	require.NoError(t, st.AddNext(ctx, third), "the first stands again")
	other := Reading("r4", h, f)
	other.Reader = "another"
	require.NoError(t, st.AddNext(ctx, other), "readers stand beside each other")
	got, err := st.Readings(ctx, h.ID)
	require.NoError(t, err)
	require.Len(t, got, 4)
	_, err = st.Version(ctx)
	require.NoError(t, err)
}
