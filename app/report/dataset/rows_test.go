package dataset_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
)

// proposal is what the program keeps of outlines that nobody has touched: those of a
// measurement.
func proposal(t *testing.T, m study.Measurement, hipID string, kind study.DraftKind) study.Draft {
	t.Helper()
	type trace struct{ Fit study.Outline }
	b, err := json.Marshal(struct {
		Head, Cup trace
		CupKind   any
	}{trace{m.Head}, trace{m.Cup}, m.CupKind})
	require.NoError(t, err)
	return study.Draft{HipID: hipID, FilmID: m.Film.ID, Kind: kind, At: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), Version: "0.1", Outlines: b}
}

func rowsOf(rows []map[string]string, filmID string) (out []map[string]string) {
	for _, r := range rows {
		if r["film_id"] == filmID {
			out = append(out, r)
		}
	}
	return out
}

// A hip of which no reading was accepted has a row a film, with the program's numbers
// where it proposes some, and they count nowhere.
func TestExportOfAHipWithoutReadings(t *testing.T) {
	full := record()
	r := study.Record{Hip: full.Hip, Films: full.Films}
	for i, film := range full.Films {
		l := study.Link{HipID: r.Hip.ID, FilmID: film.ID}
		switch i {
		case 0, 1:
			r.Unaccepted = append(r.Unaccepted, proposal(t, full.Readings[i].Measurement, r.Hip.ID, study.Proposed))
			l.Searched = study.Measured
		case 2:
			r.Unaccepted = append(r.Unaccepted, proposal(t, full.Readings[i].Measurement, r.Hip.ID, study.Edited))
		case 3:
			l.Searched, l.Reason = study.Refused, study.Note{Text: "no head\nto be seen"}
		case 4:
			r.Exclusions = []study.Exclusion{{FilmID: film.ID, Code: "cut-off", Reader: "R1"}}
			l.Searched, l.Reason = study.Refused, study.Note{Text: "nothing"}
		case 5:
			l.Searched, l.Reason = study.Failed, study.Note{Text: "truncated"}
		}
		r.Links = append(r.Links, l)
	}
	missing := full.Films[6].ID
	e := exported(t, dataset.Options{Lacks: func(f study.Film) bool { return f.ID == missing }}, kept(r))
	films := e.table(t, "films")
	require.Len(t, films, 7)
	var stands []string
	for i, f := range films {
		stands = append(stands, f["film_status"])
		require.Equal(t, map[bool]string{true: "1", false: "0"}[i == 6], f["file_missing"])
		require.Equal(t, "NA", f["penetration_superior_mm"])
	}
	require.Equal(t, []string{"proposal", "proposal", "draft", "not-found", "left-out", "unreadable", "unread"}, stands)
	require.Equal(t, "no head to be seen", films[3]["status_reason"])

	readings := e.table(t, "readings")
	require.Len(t, readings, 7)
	for i, row := range []string{"proposal", "proposal", "draft", "none", "none", "none", "none"} {
		require.Equal(t, []string{row, stands[i], "0", "NA"},
			[]string{readings[i]["row"], readings[i]["film_status"], readings[i]["counts"], readings[i]["reading_id"]})
		require.Equal(t, row == "proposal", readings[i]["offset_superior_mm"] != "NA", "a reader's unfinished outlines have no numbers")
	}
	require.Equal(t, []string{"refused", "no head to be seen"}, []string{readings[3]["status"], readings[3]["reason"]})
	want, err := full.Readings[1].Read(study.Method{Beam: !r.Hip.BeamOff, Line: true})
	require.NoError(t, err)
	require.InDelta(t, want.Reading.Offset.Superior, number(t, readings[1]["offset_superior_mm"]), 1e-9, "as a reading of these outlines would have it")

	hip := e.table(t, "hips")[0]
	require.Equal(t, []string{"7", "0", "1", "6", "1", "2", "1", "1"}, []string{hip["films"], hip["films_read"], hip["films_left_out"], hip["films_unread"],
		hip["films_draft"], hip["films_proposal"], hip["films_not_found"], hip["films_unreadable"]})
	require.Equal(t, "NA", hip["rate_mm_per_year"])
	require.Zero(t, e.told.Rows["fits"])
}

// A draft over an accepted reading is a row of its own, and changes no number that counts.
func TestExportOfADraftOverAReading(t *testing.T) {
	plain := exported(t, dataset.Options{Whose: "R1"}, kept(record()))
	r := record()
	m := r.Readings[4].Measurement
	m.Head.Y -= 9
	r.Unaccepted = []study.Draft{proposal(t, m, r.Hip.ID, study.Edited), proposal(t, m, r.Hip.ID, study.Proposed)}
	drafted := exported(t, dataset.Options{Whose: "R1"}, kept(r))
	id := r.Readings[4].FilmID
	film := rowsOf(drafted.table(t, "films"), id)[0]
	require.Equal(t, []string{"accepted", "draft"}, []string{film["film_status"], film["draft"]})
	var kinds []string
	for _, g := range rowsOf(drafted.table(t, "readings"), id) {
		kinds = append(kinds, g["row"]+" "+g["counts"])
		require.Equal(t, "accepted", g["film_status"])
	}
	require.Equal(t, []string{"reading 1", "reading 0", "reading 0", "draft 0", "proposal 0"}, kinds)
	require.Equal(t, plain.table(t, "hips"), drafted.table(t, "hips"))
	require.Equal(t, plain.table(t, "fits"), drafted.table(t, "fits"))
	require.Equal(t, rowsOf(plain.table(t, "films"), id)[0]["penetration_superior_mm"], film["penetration_superior_mm"])
}

// A film of two hips that is left out for one of them still counts for the other.
func TestExportOfAFilmOfTwoHips(t *testing.T) {
	one, other := record(), record()
	other.Hip.ID = "H-other"
	other.Exclusions = nil
	e := exported(t, dataset.Options{Whose: "R1"}, kept(one, other))
	films := rowsOf(e.table(t, "films"), "Fc")
	require.Len(t, films, 2)
	require.Equal(t, []string{"left-out", "accepted"}, []string{films[0]["film_status"], films[1]["film_status"]})
	require.NotEqual(t, films[0]["hip_id"], films[1]["hip_id"])
}

func TestExportOfFilmsOfNoHip(t *testing.T) {
	from := kept(record())
	from.waiting = []study.Film{{ID: "F90", Waits: study.NotSorted},
		{ID: "F91", Waits: study.NotAP, Reason: study.Note{Text: "the file says LL"}, Facts: study.Facts{Patient: "Q9", Side: study.Left}},
		{ID: "F92", Path: "films/name.dcm", Waits: study.Unreadable, Reason: study.Note{Text: "truncated"}, Facts: study.Facts{Patient: "Doe^Jane"}}}
	e := exported(t, dataset.Options{Lacks: func(f study.Film) bool { return f.Path != "" }}, from)
	for i, want := range [][]string{{"unsorted", "NA", "NA", "NA", "0"}, {"not-ap", "the file says LL", "Q9", "left", "0"}, {"unreadable", "truncated", "Doe^Jane", "NA", "1"}} {
		f := e.table(t, "unsorted")[i]
		require.Equal(t, want, []string{f["film_status"], f["status_reason"], f["file_patient"], f["file_side"], f["file_missing"]})
	}
	require.Equal(t, 1, e.told.Rows["hips"])
	require.Equal(t, 7, e.told.Rows["films"])
	require.Equal(t, []string{"Doe^Jane"}, e.told.Names)
}
