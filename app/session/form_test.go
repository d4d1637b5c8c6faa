package session

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// entered returns f with texts entered, each after the name of its field.
func entered[F interface{ Enter(field, text string) bool }](t *testing.T, f F, texts ...string) F {
	t.Helper()
	for i := 0; i < len(texts); i += 2 {
		require.True(t, f.Enter(texts[i], texts[i+1]), texts[i])
	}
	return f
}

func formOf(t *testing.T, s *Session, texts ...string) HipForm {
	t.Helper()
	f, err := s.Form()
	require.NoError(t, err)
	return entered(t, f, texts...)
}

func TestHipForm(t *testing.T) {
	now := time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)
	good := []string{"patient", "T1", "side", "right", "surgery", "2004-05-03", "head_mm", "28", "liner_mm", "6,5 mm", "dose_kgy", "95", "age", "61"}
	d, faults := formOf(t, newBench(t).Session, good...).Read(now)
	require.Empty(t, faults)
	require.Equal(t, study.Hip{Patient: "T1", Side: study.Right, Surgery: time.Date(2004, 5, 3, 0, 0, 0, 0, time.UTC), StartYears: 1, Age: 61,
		Implant: study.Implant{HeadMM: 28, LinerMM: 6.5, DoseKGy: 95}}, d.Hip)
	for _, c := range []struct{ name, field, text string }{
		{"no patient", FieldPatient, " "},
		{"no side", FieldSide, ""},
		{"date in another order", FieldSurgery, "03/05/2004"},
		{"no date", FieldSurgery, ""},
		{"date to come", FieldSurgery, "2021-01-01"},
		{"head in cm", FieldHead, "2.8"},
		{"no head", FieldHead, ""},
		{"head is a word", FieldHead, "large"},
		{"head is not a number", FieldHead, "NaN"},
		{"liner too thick", "liner_mm", "60"},
		{"shell smaller than the head", "shell_mm", "20"},
		{"liner wider than the shell", "liner_outer_mm", "99"},
		{"a site with a slash", "site", "A/B"},
		{"age in months", "age", "732"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := formOf(t, newBench(t).Session, append(good, c.field, c.text)...)
			_, faults := f.Read(now)
			require.Len(t, faults, 1)
			require.Equal(t, c.field, faults[0].Field)
			require.NotEmpty(t, faults[0].Message)
		})
	}
}

// withVariables is a bench in a study that has variables of its own.
func withVariables(t *testing.T) *bench {
	b, _ := inStudy(t)
	require.NoError(t, b.SetReader("R1"))
	for _, v := range []study.Variable{
		{Of: study.OfPatient, Name: "smoker", Type: study.YesNo},
		{Of: study.OfHip, Name: "approach", Type: study.Chosen, Choices: []string{"anterior", "posterior"}},
		{Of: study.OfFilm, Name: "tilt", Type: study.Number, Unit: "degrees"},
	} {
		require.NoError(t, b.book.SaveVariable(v, ""))
	}
	return b
}

func (b *bench) enter(texts ...string) error {
	b.t.Helper()
	why := ""
	if n := len(texts); n%2 == 1 {
		why, texts = texts[n-1], texts[:n-1]
	}
	f := formOf(b.t, b.Session, texts...)
	f.Why = why
	d, faults := f.Read(b.cfg.Now())
	require.Empty(b.t, faults)
	return b.SetDetails(d)
}

func TestDetailsOfHipAndPatientAreKept(t *testing.T) {
	b := withVariables(t)
	require.NoError(t, b.enter("sex", "female", "height_cm", "164", "patient smoker", "no", "hip approach", "posterior", "stabiliser", "vitamin E", "site", "A"))
	r, err := b.book.store.Record(t.Context(), b.hip.ID)
	require.NoError(t, err)
	require.Equal(t, study.Patient{Site: "A", Code: "T1", Sex: "female", HeightCM: 164, Revision: 1}, r.Patient)
	require.Equal(t, "vitamin E", r.Hip.Implant.Stabiliser)
	require.Equal(t, []study.Value{
		{Of: study.OfPatient, ID: "A/T1", Name: "smoker", Text: "no"}, {Of: study.OfHip, ID: b.hip.ID, Name: "approach", Text: "posterior"},
	}, r.Values)

	form := formOf(t, b.Session, "height_cm", "146")
	_, faults := form.Read(b.cfg.Now())
	require.Equal(t, []FormFault{{FieldWhy, say("asked.why-needed")}}, faults, "what was known is changed")
	require.NoError(t, b.enter("height_cm", "146", "head_mm", "32", "two figures exchanged"))
	var why []string
	require.NoError(t, b.book.store.Trail(t.Context(), func(row study.TrailRow) error {
		if row.Why != "" {
			why = append(why, row.What+": "+row.Why+", "+row.Reader)
		}
		return nil
	}))
	require.Equal(t, []string{"patient: two figures exchanged, R1", "hip: two figures exchanged, R1"}, why)
	lines, err := b.book.Changes()
	require.NoError(t, err)
	require.Contains(t, lines[0], "head diameter 32 mm, was 28 mm (why: two figures exchanged)")
}

// A patient of a corrected code has what the one of the wrong code had; of a code that is
// known, what is known stays.
func TestCorrectedCodeTakesThePatientWithIt(t *testing.T) {
	b := withVariables(t)
	require.NoError(t, b.enter("sex", "female", "weight_kg", "70", "patient smoker", "no"))
	require.NoError(t, b.enter("patient", "T9", "a slip of the pen"))
	r, err := b.book.store.Record(t.Context(), b.hip.ID)
	require.NoError(t, err)
	require.Equal(t, study.Patient{Code: "T9", Sex: "female", WeightKG: 70, Revision: 1}, r.Patient)
	require.Equal(t, []study.Value{{Of: study.OfPatient, ID: "/T9", Name: "smoker", Text: "no"}}, r.Values)

	_, err = b.book.store.SavePatient(t.Context(), study.Patient{Code: "T5", Sex: "male"}, study.Stamp{})
	require.NoError(t, err)
	require.NoError(t, b.enter("patient", "T5", "weight_kg", "71", "another patient's film"))
	r, err = b.book.store.Record(t.Context(), b.hip.ID)
	require.NoError(t, err)
	require.Equal(t, study.Patient{Code: "T5", Sex: "male", WeightKG: 71, Revision: 2}, r.Patient)
}

// What another window has saved of the patient meanwhile is told once, and what is entered stays.
func TestPatientChangedElsewhereIsTold(t *testing.T) {
	b := withVariables(t)
	require.NoError(t, b.enter("sex", "female"))
	f := formOf(t, b.Session, "height_cm", "164")
	_, err := b.book.store.SavePatient(t.Context(), study.Patient{Code: "T1", Sex: "female", WeightKG: 80, Revision: 1}, study.Stamp{})
	require.NoError(t, err)
	d, faults := f.Read(b.cfg.Now())
	require.Empty(t, faults)
	err = b.SetDetails(d)
	require.ErrorContains(t, err, "changed elsewhere")
	d, _ = f.Anew(err).Read(b.cfg.Now())
	require.NoError(t, b.SetDetails(d))
}

func TestValuesOfFilms(t *testing.T) {
	b := withVariables(t)
	film := b.strip.films[0]
	put := func(text, why string) []FormFault {
		f, err := b.FilmForm(film)
		require.NoError(t, err)
		f = entered(t, f, "film tilt", text)
		f.Why = why
		list, faults := f.Read()
		if len(faults) == 0 {
			require.NoError(t, b.book.SetValues(list, f.Why))
		}
		return faults
	}
	require.Len(t, put("steep", ""), 1)
	require.Empty(t, put("-3,5", ""))
	require.Equal(t, []FormFault{{FieldWhy, say("asked.why-needed")}}, put("3.5", ""))
	require.Empty(t, put("3.5", "sign"))
	list, err := b.book.store.Values(t.Context(), study.OfFilm, film.ID)
	require.NoError(t, err)
	require.Equal(t, []study.Value{{Of: study.OfFilm, ID: film.ID, Name: "tilt", Text: "3.5"}}, list)
}

func TestVariableForm(t *testing.T) {
	b := withVariables(t)
	for _, c := range []struct {
		name, field string
		texts       []string
	}{
		{"no name", FieldName, []string{"of", "film", "type", "text"}},
		{"of nothing", FieldOf, []string{"name", "x", "type", "text"}},
		{"no type", FieldType, []string{"name", "x", "of", "film"}},
		{"a choice of nothing", FieldChoices, []string{"name", "x", "of", "film", "type", "choice", "choices", " ; "}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, faults := entered(t, NewVariableForm(study.Variable{}), c.texts...).Read()
			require.Len(t, faults, 1)
			require.Equal(t, c.field, faults[0].Field)
		})
	}
	v, faults := entered(t, NewVariableForm(study.Variable{}), "name", "tilt", "of", "film", "type", "choice", "choices", "a; b ;a").Read()
	require.Empty(t, faults)
	require.Equal(t, []string{"a", "b"}, v.Choices)
	require.ErrorContains(t, b.book.SaveVariable(v, ""), "tilt")
	list, err := b.book.Variables()
	require.NoError(t, err)
	f := entered(t, NewVariableForm(list[0]), "type", "text")
	_, faults = f.Read()
	require.Equal(t, FieldWhy, faults[0].Field)
}
