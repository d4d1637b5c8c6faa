package dataset_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
)

// secrets are words that stand where somebody may be told of.
var secrets = []string{"Doe", "jane", "Ward 7", "AB-Smith", "CD-Jones", "hernia", "Widget", "2026-", "2004-", "2014-", "20260301T", "Harris"}

// told is a study with such words in every text that it keeps.
func told() *source {
	r := record()
	r.Hip.Site, r.Patient.Site, r.Hip.Age = "north", "north", 93.4
	r.Hip.Implant.Catalogue = "Widget 52"
	names := map[string]string{"R1": "AB-Smith", "R2": "CD-Jones"}
	for i := range r.Films {
		r.Films[i].Path, r.Films[i].Facts.Patient = "Ward 7/jane.dcm", "Doe^jane"
	}
	r.Hip.Patient, r.Patient.Code = "Q7-000", "Q7-000"
	for i := range r.Readings {
		g := &r.Readings[i]
		g.ID, g.Reader, g.Film.Path = "20260301T-"+g.ID, names[g.Reader], "Ward 7/jane.dcm"
		if g.Supersedes != "" {
			g.Supersedes = "20260301T-" + g.Supersedes
		}
	}
	at := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	by := study.Stamp{Reader: "AB-Smith", At: at}
	r.Exclusions[0].Note, r.Exclusions[0].Reader = "Doe moved", "AB-Smith"
	r.Events = []study.Event{{ID: "E1", HipID: r.Hip.ID, Kind: study.Lost, Date: day("2014-05-13"), Note: "hernia", Stamp: by}}
	r.Grades = []study.Grade{{HipID: r.Hip.ID, FilmID: "Fa", Quality: "B", Reason: "blur", Note: "Ward 7", Stamp: by}}
	r.Values = []study.Value{{Of: study.OfHip, Name: "remark", ID: r.Hip.ID, Text: "Doe"}, {Of: study.OfHip, Name: "score", ID: r.Hip.ID, Text: "-3.50"},
		{Of: study.OfHip, Name: "seen", ID: r.Hip.ID, Text: "2004-05-13"}, {Of: study.OfPatient, Name: "born", ID: r.Patient.ID(), Text: "2004-01-01"}}
	from := kept(r)
	from.variables = []study.Variable{{Of: study.OfHip, Name: "remark", Type: study.Text}, {Of: study.OfHip, Name: "score", Type: study.Number, Unit: "points"},
		{Of: study.OfHip, Name: "seen", Type: study.Date}, {Of: study.OfPatient, Name: "born", Type: study.Date}}
	from.disclosures = []study.Disclosure{{Kind: study.ShownNumbers, Lists: []string{"L1", "L2"}, Stamp: study.Stamp{Reader: "CD-Jones", At: at, Why: "Doe asks"}},
		{Kind: study.PatientPage, HipID: r.Hip.ID, Stamp: by}}
	from.waiting = []study.Film{{ID: "F90", Path: "jane.dcm", Facts: study.Facts{Patient: "Doe", Date: day("2014-01-01")}, Reason: study.Note{Text: "jane.dcm is torn"}}}
	return from
}

// An export without identities keeps the distances between surgery, films and events, and
// none of the words.
func TestDeidentifiedExportTellsNobody(t *testing.T) {
	o := dataset.Options{Whose: "AB-Smith", Name: "Doe 2004", Deidentified: true}
	e := exported(t, o, told())
	for name, file := range e.files {
		for _, word := range secrets {
			require.NotContains(t, file.String(), word, name)
		}
	}
	require.Empty(t, e.told.Names)
	films := e.table(t, "films")
	require.Equal(t, []string{"44", "3653"}, []string{films[0]["film_day"], films[4]["film_day"]})
	require.Equal(t, "0", e.table(t, "hips")[0]["surgery_day"])
	require.Equal(t, "3662", e.table(t, "events")[0]["event_day"])
	require.Equal(t, "10", e.table(t, "hips")[0]["seen_day"])
	require.Equal(t, "90", e.table(t, "hips")[0]["age"])
	require.Equal(t, "-3.5", films[0]["score"])
	require.Equal(t, "reader-1", e.table(t, "hips")[0]["readings_of"])
	require.Equal(t, "reader-1;reader-2", e.table(t, "hips")[0]["readers"])
	moved := e.table(t, "penetration")
	require.Equal(t, []string{"Q7-000-right.8", "Q7-000-right.7"}, []string{moved[7]["reading_id"], moved[7]["supersedes"]})
	require.Equal(t, "north/Q7-000", films[0]["patient"], "codes stay")

	open := exported(t, dataset.Options{Whose: "AB-Smith"}, told())
	for i, p := range open.table(t, "penetration") {
		require.Equal(t, p["penetration_superior_mm"], moved[i]["penetration_superior_mm"])
		require.Equal(t, p["years"], moved[i]["years"])
	}
	all := ""
	for _, file := range open.files {
		all += file.String()
	}
	for _, word := range []string{"AB-Smith", "hernia", "Widget", "2004-05-13", "Doe moved"} {
		require.Contains(t, all, word, "what is left out is there to begin with")
	}

	o.Key = []byte(strings.Repeat("k", 32))
	with := exported(t, o, told())
	for name, file := range with.files {
		require.NotContains(t, file.String(), "Q7-000", name)
		require.NotContains(t, file.String(), "north", name)
	}
	f := with.table(t, "films")[0]
	require.Equal(t, with.table(t, "hips")[0]["hip_id"], f["hip_id"])
	require.Regexp(t, "^H[0-9a-f]{16}$", f["hip_id"])
	require.Equal(t, with.table(t, "patients")[0]["patient"], f["patient"])
	require.Equal(t, with.files, exported(t, o, told()).files, "the same key gives the same codes")
	o.Key = []byte(strings.Repeat("l", 32))
	require.NotEqual(t, f["hip_id"], exported(t, o, told()).table(t, "films")[0]["hip_id"])
}

// Who was told numbers is a table, with the codebook's words for it.
func TestExportTellsDisclosures(t *testing.T) {
	e := exported(t, dataset.Options{}, told())
	rows := e.table(t, "disclosures")
	require.Len(t, rows, 2)
	require.Equal(t, map[string]string{"disclosure_no": "1", "disclosure": "numbers shown", "hip_id": "NA", "open_lists": "L1;L2",
		"told_to": "CD-Jones", "told_at": "2026-03-02T00:00:00Z", "told_why": "Doe asks"}, rows[0])
	require.Equal(t, []string{"patient's page", record().Hip.ID, "NA", "NA"}, []string{rows[1]["disclosure"], rows[1]["hip_id"], rows[1]["open_lists"], rows[1]["told_why"]})
	var book []string
	for _, c := range e.table(t, "codebook") {
		if c["table"] == "disclosures" {
			book = append(book, c["column"])
		}
	}
	require.Equal(t, []string{"disclosure_no", "disclosure", "hip_id", "open_lists", "told_to", "told_at", "told_why"}, book)

	e = exported(t, dataset.Options{Deidentified: true, Key: []byte("k")}, told())
	hidden := e.table(t, "disclosures")
	require.Len(t, hidden, 2)
	require.Equal(t, []string{"reader-2", "NA"}, []string{hidden[0]["told_to"], hidden[0]["hip_id"]})
	require.Equal(t, e.table(t, "hips")[0]["hip_id"], hidden[1]["hip_id"])
	require.NotContains(t, hidden[0], "told_at")
	require.NotContains(t, hidden[0], "told_why")
}

// The same study gives the same bytes, and its date is that of what was last done.
func TestExportIsTheSameEachTime(t *testing.T) {
	from := told()
	for i := range 40 {
		r := record()
		r.Hip.ID += strings.Repeat("x", i)
		from.records = append(from.records, r)
	}
	o := dataset.Options{Version: "0.1"}
	e := exported(t, o, from)
	require.Equal(t, e.files, exported(t, o, from).files)
	require.Contains(t, e.files["datapackage.json"].String(), `"created": "2026-03-08T12:00:00Z"`)
	o.Date = day("2027-01-01")
	require.Contains(t, exported(t, o, from).files["datapackage.json"].String(), `"created": "2027-01-01T00:00:00Z"`)
}

// Variables of the study have columns of their own names, in every table where they are of use.
func TestExportHasVariables(t *testing.T) {
	from := told()
	from.variables = append(from.variables, study.Variable{Of: study.OfFilm, Name: "Group", Type: study.Chosen, Choices: []string{"=1", "two"}, Label: strings.Repeat("long ", 30)},
		study.Variable{Of: study.OfPatient, Name: "score", Type: study.YesNo})
	r := &from.records[0]
	r.Values = append(r.Values, study.Value{Of: study.OfFilm, Name: "Group", ID: "Fb", Text: "=1"}, study.Value{Of: study.OfPatient, Name: "score", ID: r.Patient.ID(), Text: study.Yes})
	from.patients = []study.Patient{{Code: "alone", HeightCM: 200, WeightKG: 80}}
	e := exported(t, dataset.Options{}, from)
	film := e.table(t, "films")[1]
	require.Equal(t, []string{"'=1", "1", "-3.5", "arm, \"B\""}, []string{film["film_Group"], film["patient_score"], film["score"], film["group"]})
	require.NotContains(t, e.table(t, "fits")[0], "film_Group")
	for _, table := range []string{"hips", "fits", "penetration", "events", "grades"} {
		require.Equal(t, "-3.5", e.table(t, table)[0]["score"], table)
	}
	require.Equal(t, []string{"north/Q7-000", "1", "1"}, []string{e.table(t, "patients")[0]["patient"], e.table(t, "patients")[0]["hips"], e.table(t, "patients")[0]["patient_score"]})
	require.Equal(t, []string{"alone", "0", "20"}, []string{e.table(t, "patients")[1]["patient"], e.table(t, "patients")[1]["hips"], e.table(t, "patients")[1]["bmi"]})
}
