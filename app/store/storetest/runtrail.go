package storetest

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// everyChange makes one change of each kind, by readers of their own, and returns what and
// by whom each is.
func everyChange(t *testing.T, st study.Store) (want [][3]string) {
	ctx := t.Context()
	n := 0
	as := func(what, id string) study.Stamp {
		n++
		reader := "R" + string(rune('a'+n))
		want = append(want, [3]string{what, id, reader})
		return study.Stamp{Reader: reader, At: by.At.Add(time.Duration(n) * time.Minute), Version: "0.2", Why: "for a test"}
	}
	_, err := st.SaveSite(ctx, study.Site{Code: "S1"}, as("site", "S1"))
	require.NoError(t, err)
	_, err = st.SavePatient(ctx, study.Patient{Site: "S1", Code: "P-1"}, as("patient", "S1/P-1"))
	require.NoError(t, err)
	h, err := st.SaveHip(ctx, study.Hip{Site: "S1", Patient: "P-1"}, as("hip", "H1"))
	require.NoError(t, err)
	h.Group = "B"
	h, err = st.SaveHip(ctx, h, as("hip", "H1"))
	require.NoError(t, err)
	f, err := st.SaveFilm(ctx, Film("a", "2004-06-14"), as("film", "F1"))
	require.NoError(t, err)
	require.NoError(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, as("link", "H1/F1")))
	require.NoError(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, study.Stamp{}), "changes nothing")
	require.NoError(t, st.SetSetting(ctx, "window", "wide", as("setting", "window")))
	r := Reading("r1", h, f)
	by := as("reading", "r1")
	r.Reader, r.At, r.Version = by.Reader, by.At, by.Version
	require.NoError(t, st.AddReading(ctx, r))
	by = as("withdrawal", "1")
	require.NoError(t, st.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r1", Reader: by.Reader, At: by.At, Version: by.Version}))
	by = as("exclusion", "1")
	require.NoError(t, st.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: f.ID, Code: "other", Reader: by.Reader, At: by.At, Version: by.Version}))
	_, err = st.AddEvent(ctx, study.Event{HipID: h.ID, Kind: study.Lost, Date: day("2015-05-01"), Stamp: as("event", "E1")})
	require.NoError(t, err)
	require.NoError(t, st.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: f.ID, Quality: "A", Stamp: as("grade", "1")}))
	_, err = st.SaveVariable(ctx, study.Variable{Of: study.OfHip, Name: "stem", Type: study.Text}, as("variable", "hip stem"))
	require.NoError(t, err)
	for _, text := range []string{"one", "two", ""} {
		require.NoError(t, st.SetValues(ctx, []study.Value{{Of: study.OfHip, ID: h.ID, Name: "stem", Text: text}}, as("value", "hip H1 stem")))
	}
	for _, id := range []string{"D1", "D2"} {
		require.NoError(t, st.AddDisclosure(ctx, study.Disclosure{Kind: study.PatientPage, HipID: h.ID, Stamp: as("disclosure", id)}))
	}
	g, err := st.SaveFilm(ctx, Film("b", "2004-06-14"), as("film", "F2"))
	require.NoError(t, err)
	require.NoError(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: g.ID}, as("link", "H1/F2")))
	require.NoError(t, st.DropLink(ctx, h.ID, g.ID, as("link", "H1/F2")))
	require.NoError(t, st.DropFilm(ctx, g.ID, as("film", "F2")))
	return want
}

// Every change is a row of the trail, in its order, and the trail holds.
func trail(t *testing.T, st study.Store) {
	ctx := t.Context()
	none, err := st.Disclosures(ctx)
	require.NoError(t, err)
	require.Empty(t, none)
	want := everyChange(t, st)
	told, err := st.Disclosures(ctx)
	require.NoError(t, err)
	require.Len(t, told, 2)
	for _, d := range told {
		assert.Equal(t, study.Disclosure{Kind: study.PatientPage, HipID: "H1", Stamp: d.Stamp}, d)
		assert.True(t, slices.ContainsFunc(want, func(w [3]string) bool { return w[0] == "disclosure" && w[2] == d.Reader }), d.Reader)
	}
	var got [][3]string
	var rows []study.TrailRow
	var chain study.Chain
	require.NoError(t, st.Trail(ctx, func(row study.TrailRow) error {
		got, rows = append(got, [3]string{row.What, row.ID, row.Reader}), append(rows, row)
		assert.True(t, chain.Next(row).IsZero(), "row %d", row.Seq)
		assert.NotEqual(t, row.Old, row.New)
		assert.Equal(t, by.At.Add(time.Duration(row.Seq)*time.Minute), row.At)
		return nil
	}))
	require.Equal(t, want, got)
	assert.Empty(t, rows[2].Old, "a hip that is new")
	assert.Equal(t, rows[2].New, rows[3].Old)
	assert.Equal(t, "for a test", rows[3].Why)
	assert.Empty(t, rows[len(rows)-1].New, "a film that is dropped")
	a, err := st.Audit(ctx)
	require.NoError(t, err)
	assert.Equal(t, study.Audit{Changes: int64(len(want)), End: rows[len(rows)-1].Hash, Readings: 1}, a)

	// What is refused is in no row.
	_, err = st.SaveHip(ctx, study.Hip{ID: "H1"}, by)
	require.Error(t, err)
	_, err = st.Enter(ctx, study.Entries{Patients: []study.Patient{{Code: "P-9"}}, Hips: []study.Hip{{ID: "H1"}}}, by)
	require.Error(t, err)
	n := 0
	require.NoError(t, st.Trail(ctx, func(study.TrailRow) error { n++; return nil }))
	assert.Equal(t, len(want), n)
	stop := assert.AnError
	require.ErrorIs(t, st.Trail(ctx, func(study.TrailRow) error { return stop }), stop)
}
