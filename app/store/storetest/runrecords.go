package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func patients(t *testing.T, st study.Store) {
	ctx := t.Context()
	list, err := st.Patients(ctx)
	require.NoError(t, err)
	assert.Empty(t, list)
	p, err := st.SavePatient(ctx, study.Patient{Site: "S2", Code: "P-1", Sex: "female", HeightCM: 162.5, WeightKG: 70}, by)
	require.NoError(t, err)
	other, err := st.SavePatient(ctx, study.Patient{Site: "S1", Code: "P-1"}, by)
	require.NoError(t, err, "the code of another site's")
	list, err = st.Patients(ctx)
	require.NoError(t, err)
	assert.Equal(t, []study.Patient{other, p}, list)
	mine, theirs := p, p
	theirs.WeightKG = 71
	theirs, err = st.SavePatient(ctx, theirs, by)
	require.NoError(t, err)
	assert.Equal(t, 2, theirs.Revision)
	got, err := st.SavePatient(ctx, mine, by)
	assert.Equal(t, &study.ConflictError{Mine: mine, Theirs: theirs}, err)
	assert.Equal(t, mine, got)
	for _, bad := range []study.Patient{{}, {Site: "a/b", Code: "P"}, {Code: "P", Revision: 1}} {
		_, err = st.SavePatient(ctx, bad, by)
		require.Error(t, err, "%+v", bad)
	}

	s, err := st.SaveSite(ctx, study.Site{Code: "S2", Name: "the second"}, by)
	require.NoError(t, err)
	s.Name = "two"
	s, err = st.SaveSite(ctx, s, by)
	require.NoError(t, err)
	_, err = st.SaveSite(ctx, study.Site{Code: "S2"}, by)
	var conflict *study.ConflictError
	require.ErrorAs(t, err, &conflict)
	_, err = st.SaveSite(ctx, study.Site{}, by)
	require.Error(t, err)
	sites, err := st.Sites(ctx)
	require.NoError(t, err)
	assert.Equal(t, []study.Site{{Code: "S2", Name: "two", Revision: 2}}, sites)
}

// A site is part of what a hip is.
func siteOfHips(t *testing.T, st study.Store) {
	ctx := t.Context()
	var want []study.Hip
	for _, site := range []string{"S1", "S2"} {
		h := Hip()
		h.Site = site
		h, err := st.SaveHip(ctx, h, by)
		require.NoError(t, err)
		want = append(want, h)
	}
	list, err := st.Hips(ctx)
	require.NoError(t, err)
	assert.Equal(t, want, list)
	assert.NotEqual(t, list[0].PatientID(), list[1].PatientID())
	assert.Equal(t, "S2 P-017 right", list[1].Label())
	r, err := st.Record(ctx, list[1].ID)
	require.NoError(t, err)
	assert.Equal(t, study.Patient{Site: "S2", Code: "P-017"}, r.Patient, "of whom no more is kept")
	p, err := st.SavePatient(ctx, study.Patient{Site: "S2", Code: "P-017", Sex: "male"}, by)
	require.NoError(t, err)
	r, err = st.Record(ctx, list[1].ID)
	require.NoError(t, err)
	assert.Equal(t, p, r.Patient)
}

func events(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, _ := saved(t, st)
	other, err := st.SaveHip(ctx, study.Hip{Patient: "P-018"}, by)
	require.NoError(t, err)
	died := study.Event{HipID: h.ID, Kind: study.Died, Date: day("2019-01-01"), Stamp: by}
	liner := study.Event{HipID: h.ID, Kind: study.LinerExchanged, Date: day("2015-05-01"), Note: "dislocated", Implant: study.Implant{HeadMM: 32, Lipped: study.Yes}, Stamp: by}
	liner.Why = "operation note"
	head := study.Event{HipID: h.ID, Kind: study.HeadExchanged, Date: day("2012-05-01"), Stamp: by}
	var want []study.Event
	for _, e := range []study.Event{died, liner, head} {
		got, err := st.AddEvent(ctx, e)
		require.NoError(t, err)
		require.NotEmpty(t, got.ID)
		e.ID = got.ID
		require.Equal(t, e, got)
		want = append(want, got)
	}
	until := func() string {
		list, err := st.Hips(ctx)
		require.NoError(t, err)
		require.True(t, list[1].Until.IsZero())
		r, err := st.Record(ctx, h.ID)
		require.NoError(t, err)
		require.Equal(t, list[0], r.Hip)
		require.Equal(t, want, r.Events)
		return list[0].Until.Format("2006-01-02")
	}
	assert.Equal(t, "2012-05-01", until())
	back, err := st.AddEvent(ctx, study.Event{HipID: h.ID, TakesBack: want[2].ID, Stamp: by})
	require.NoError(t, err)
	want = append(want, back)
	list, err := st.Events(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, want, list)
	assert.Equal(t, "2015-05-01", until(), "the first that stands")
	h.Group = "C"
	h, err = st.SaveHip(ctx, h, by)
	require.NoError(t, err)
	assert.Equal(t, day("2015-05-01"), h.Until, "saving a hip says it, too")

	for name, bad := range map[string]study.Event{
		"no hip":               {HipID: "H999", Kind: study.Died, Date: day("2019-01-01")},
		"no kind":              {HipID: h.ID, Date: day("2019-01-01")},
		"another kind":         {HipID: h.ID, Kind: "moved", Date: day("2019-01-01")},
		"no date":              {HipID: h.ID, Kind: study.Died},
		"an ID":                {ID: "E9", HipID: h.ID, Kind: study.Died, Date: day("2019-01-01")},
		"takes back another's": {HipID: other.ID, TakesBack: want[0].ID},
		"takes back none":      {HipID: h.ID, TakesBack: "E999"},
		"takes back no ID":     {HipID: h.ID, TakesBack: "x"},
	} {
		bad.Stamp = by
		_, err := st.AddEvent(ctx, bad)
		assert.Error(t, err, name)
	}
	list, err = st.Events(ctx, h.ID)
	require.NoError(t, err)
	assert.Len(t, list, 4)
}

func grades(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	want := []study.Grade{
		{HipID: h.ID, FilmID: f.ID, Quality: "B", Reason: "rotation", Note: "a little", Stamp: by},
		{HipID: h.ID, FilmID: f.ID, Quality: "A", Stamp: by},
	}
	for _, g := range want {
		require.NoError(t, st.AddGrade(ctx, g))
	}
	list, err := st.Grades(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, want, list)
	r, err := st.Record(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, want, r.Grades)
	require.Error(t, st.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: f.ID, Quality: "D", Stamp: by}))
	require.Error(t, st.AddGrade(ctx, study.Grade{HipID: h.ID, FilmID: "F999", Quality: "A", Stamp: by}))
	require.ErrorIs(t, st.DropFilm(ctx, f.ID, by), study.ErrRests)
	require.ErrorIs(t, st.DropLink(ctx, h.ID, f.ID, by), study.ErrRests)
}

func variables(t *testing.T, st study.Store) {
	ctx := t.Context()
	h, f := saved(t, st)
	p, err := st.SavePatient(ctx, study.Patient{Code: h.Patient}, by)
	require.NoError(t, err)
	var want []study.Variable
	for _, v := range []study.Variable{
		{Of: study.OfFilm, Name: "tilt", Type: study.Number, Unit: "degrees"},
		{Of: study.OfHip, Name: "approach", Type: study.Chosen, Choices: []string{"anterior", "posterior"}, Label: "surgical approach"},
		{Of: study.OfPatient, Name: "tilt", Type: study.YesNo},
	} {
		v, err := st.SaveVariable(ctx, v, by)
		require.NoError(t, err)
		want = append(want, v)
	}
	list, err := st.Variables(ctx)
	require.NoError(t, err)
	assert.Equal(t, want, list)

	all := []study.Value{
		{Of: study.OfPatient, ID: p.ID(), Name: "tilt", Text: "yes"},
		{Of: study.OfHip, ID: h.ID, Name: "approach", Text: "anterior"},
		{Of: study.OfFilm, ID: f.ID, Name: "tilt", Text: "-3.5"},
	}
	require.NoError(t, st.SetValues(ctx, all, by))
	r, err := st.Record(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, all, r.Values)
	for name, bad := range map[string]study.Value{
		"no variable":  {Of: study.OfFilm, ID: f.ID, Name: "approach", Text: "anterior"},
		"no film":      {Of: study.OfFilm, ID: "F999", Name: "tilt", Text: "1"},
		"no hip":       {Of: study.OfHip, ID: "H999", Name: "approach", Text: "anterior"},
		"no patient":   {Of: study.OfPatient, ID: "/nobody", Name: "tilt", Text: "no"},
		"not a number": {Of: study.OfFilm, ID: f.ID, Name: "tilt", Text: "NaN"},
		"no choice":    {Of: study.OfHip, ID: h.ID, Name: "approach", Text: "lateral"},
		"half a yes":   {Of: study.OfPatient, ID: p.ID(), Name: "tilt", Text: "1"},
	} {
		err := st.SetValues(ctx, []study.Value{{Of: study.OfFilm, ID: f.ID, Name: "tilt", Text: "9"}, bad}, by)
		require.Error(t, err, name)
		require.NotContains(t, err.Error(), "\n")
	}
	got, err := st.Values(ctx, study.OfFilm, f.ID)
	require.NoError(t, err)
	assert.Equal(t, all[2:], got, "all or none")
	v := want[1]
	v.Choices = []string{"posterior"}
	_, err = st.SaveVariable(ctx, v, by)
	require.Error(t, err, "a value would be none")
	all[1].Text = ""
	require.NoError(t, st.SetValues(ctx, all[1:2], by))
	v, err = st.SaveVariable(ctx, v, by)
	require.NoError(t, err)
	_, err = st.SaveVariable(ctx, want[1], by)
	require.Equal(t, &study.ConflictError{Mine: want[1], Theirs: v}, err)
	r, err = st.Record(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, []study.Value{all[0], all[2]}, r.Values)
	require.NoError(t, st.DropFilm(ctx, f.ID, by))
	got, err = st.Values(ctx, study.OfFilm, f.ID)
	require.NoError(t, err)
	assert.Empty(t, got)
}

// What is entered together is saved together, or nothing of it.
func enters(t *testing.T, st study.Store) {
	ctx := t.Context()
	h := study.Hip{ID: "H7", Site: "S1", Patient: "P-1", Side: study.Left}
	e := study.Entries{
		Sites: []study.Site{{Code: "S1"}}, Patients: []study.Patient{{Site: "S1", Code: "P-1"}}, Hips: []study.Hip{h, {Patient: "P-2"}},
		Variables: []study.Variable{{Of: study.OfHip, Name: "stem", Type: study.Text}},
		Values:    []study.Value{{Of: study.OfHip, ID: "H7", Name: "stem", Text: "any"}},
		Events:    []study.Event{{HipID: "H7", Kind: study.Lost, Date: day("2015-05-01"), Stamp: by}},
	}
	bad := e
	bad.Events = append(bad.Events[:1:1], study.Event{HipID: "H9", Kind: study.Lost, Date: day("2015-05-01"), Stamp: by})
	_, err := st.Enter(ctx, bad, by)
	require.ErrorContains(t, err, "")
	hips, err := st.Hips(ctx)
	require.NoError(t, err)
	assert.Empty(t, hips)
	patients, err := st.Patients(ctx)
	require.NoError(t, err)
	assert.Empty(t, patients)

	got, err := st.Enter(ctx, e, by)
	require.NoError(t, err)
	assert.Equal(t, 1, got.Hips[0].Revision)
	assert.NotEmpty(t, got.Hips[1].ID)
	assert.NotEmpty(t, got.Events[0].ID)
	r, err := st.Record(ctx, "H7")
	require.NoError(t, err)
	assert.Equal(t, study.Record{Hip: got.Hips[0], Patient: got.Patients[0], Events: got.Events, Values: e.Values}, r)
	again, err := st.Enter(ctx, e, by)
	require.Error(t, err, "they are there")
	assert.Equal(t, e, again)
}
