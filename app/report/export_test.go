package report_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// record is the series read by R1: five films measured, one of them left out, one
// that R1 gave no result, one unread; R2 read the last film twice.
func record() study.Record {
	h, ms := series()
	h.Patient, h.Group = "Q7-000", "arm, \"B\""
	h.Implant.HeadMaterial = "ZTA"
	r := study.Record{Hip: h}
	at := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	for i, m := range ms {
		m.Film.ID = "F" + string(rune('a'+i))
		r.Films = append(r.Films, m.Film)
		if m.Status == study.Failed {
			continue
		}
		r.Readings = append(r.Readings, study.Reading{ID: "r1" + m.Film.ID, FilmID: m.Film.ID, Reader: "R1", At: at, Version: "0.1", Measurement: m}.Bare())
	}
	for _, id := range []string{"r2", "r3"} {
		g := r.Readings[4]
		g.ID, g.Reader, g.At = id, "R2", at.AddDate(0, 0, len(r.Readings))
		g.Measurement.Reading.Offset.Superior += 0.125
		if id == "r3" {
			g.Supersedes = "r2"
		}
		r.Readings = append(r.Readings, g)
	}
	r.Exclusions = []study.Exclusion{{HipID: h.ID, FilmID: "Fc", Code: "projection", Note: "pelvis\nturned", Reader: "R1", At: at}}
	return r
}

// table reads a table of an export back by column.
func table(t *testing.T, e *report.Export, name string) []map[string]string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, e.Write(&b, name))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, c := range row {
			require.NotEmpty(t, c, "%s: an empty cell in %s", name, rows[0][i])
			m[rows[0][i]] = c
		}
		out = append(out, m)
	}
	return out
}

func TestExportDropsNothing(t *testing.T) {
	e := &report.Export{Whose: "R1"}
	e.Add(record())
	films := table(t, e, "films")
	require.Len(t, films, 7)
	var states []string
	for _, f := range films {
		states = append(states, f["state"])
	}
	require.Equal(t, []string{"read", "read", "left-out", "read", "read", "no-result", "unread"}, states)
	require.Equal(t, "projection", films[2]["left_out_code"])
	require.Equal(t, "pelvis turned", films[2]["left_out_note"])
	require.Equal(t, "0.5", films[2]["penetration_superior_mm"], "left out, and still told")
	require.Equal(t, "0", films[2]["in_line"])
	require.Equal(t, "1.27", films[4]["penetration_superior_mm"])
	require.Equal(t, "1", films[4]["in_line"])
	require.Equal(t, "NA", films[6]["reading_id"])
	require.Equal(t, "3", films[4]["readings"])

	readings := table(t, e, "readings")
	require.Len(t, readings, 9)
	require.Equal(t, []string{"R2", "2", "r2", "0"}, []string{readings[7]["reader"], readings[7]["reading_no"], readings[7]["supersedes"], readings[7]["counts"]})
	require.Equal(t, "1", readings[0]["counts"])
	require.Equal(t, "0", readings[2]["counts"], "its film is left out")
	require.Equal(t, "refused", readings[5]["status"])
	require.Equal(t, "NA", readings[5]["offset_superior_mm"], "no number where nothing was measured")

	hips := table(t, e, "hips")
	require.Len(t, hips, 1)
	require.Equal(t, `arm, "B"`, hips[0]["group"])
	require.Equal(t, []string{"7", "4", "1", "1"}, []string{hips[0]["films"], hips[0]["films_read"], hips[0]["films_left_out"], hips[0]["films_unread"]})
	require.Equal(t, "1", hips[0]["films_no_result"])
	require.Equal(t, "R1;R2", hips[0]["readers"])
	require.Equal(t, "NA", hips[0]["shell_mm"], "unknown is not zero")

	other := &report.Export{}
	other.Add(record())
	require.Equal(t, "1.395", table(t, other, "films")[4]["penetration_superior_mm"], "the latest reading is R2's")
	require.NotEqual(t, hips[0]["rate_mm_per_year"], table(t, other, "hips")[0]["rate_mm_per_year"])
}

func TestExportTellsWithdrawnReadings(t *testing.T) {
	r := record()
	r.Readings[7].Withdrawn = &study.Withdrawal{ReadingID: r.Readings[7].ID, Reader: "R2", At: time.Date(2021, 2, 3, 4, 5, 6, 0, time.UTC)}
	e := &report.Export{}
	e.Add(r)
	rows := table(t, e, "readings")
	require.Len(t, rows, 9)
	require.Equal(t, []string{"2021-02-03T04:05:06Z", "R2", "0"}, []string{rows[7]["withdrawn_at"], rows[7]["withdrawn_by"], rows[7]["counts"]})
	require.Equal(t, []string{"NA", "NA", "1"}, []string{rows[6]["withdrawn_at"], rows[6]["withdrawn_by"], rows[6]["counts"]}, "the one before it counts again")
}

func TestExportCountsEdgePoints(t *testing.T) {
	e, r := &report.Export{Whose: "R1"}, record()
	r.Readings[0].Kept = study.Kept{Head: 210, Cup: 95}
	e.Add(r)
	rows := table(t, e, "readings")
	require.Equal(t, []string{"210", "95"}, []string{rows[0]["head_points"], rows[0]["cup_points"]})
	require.Equal(t, "NA", rows[5]["head_points"], "nothing was measured")
}

func TestExportIsOfTheHipAsItIs(t *testing.T) {
	r := record()
	for i := range r.Readings {
		if m := &r.Readings[i].Measurement; m.Status == study.Measured { // as its outlines tell it
			m.Head.Y -= float64(i)
			*m, _ = m.Read(study.Method{})
		}
	}
	e := &report.Export{Whose: "R1"}
	e.Add(r)
	before := table(t, e, "readings")
	r.Hip.Implant.HeadMM = 32
	e = &report.Export{Whose: "R1"}
	e.Add(r)
	films, after := map[string]map[string]string{}, table(t, e, "readings")
	for _, f := range table(t, e, "films") {
		films[f["film_id"]] = f
	}
	for i, g := range after {
		if g["status"] != "measured" {
			require.Equal(t, "NA", g["penetration_superior_mm"])
			continue
		}
		require.Equal(t, []string{"32", "28"}, []string{g["head_mm"], g["accepted_head_mm"]})
		for _, column := range []string{"mm_per_px", "offset_superior_mm", "se_offset_superior_mm", "thinnest_mm"} {
			require.InEpsilon(t, number(t, before[i][column])*32/28, number(t, g[column]), 1e-9, column)
		}
		if f := films[g["film_id"]]; f["reading_id"] == g["reading_id"] {
			require.Equal(t, f["penetration_superior_mm"], g["penetration_superior_mm"])
			require.Equal(t, f["se_penetration_medial_mm"], g["se_penetration_medial_mm"])
		} else {
			require.InDelta(t, number(t, g["offset_superior_mm"])-number(t, after[0]["offset_superior_mm"]), number(t, g["penetration_superior_mm"]), 1e-9,
				"of R2, since the reading of the baseline film that counts")
		}
	}
	require.Equal(t, "32", table(t, e, "hips")[0]["head_mm"])

	r.Readings[4].Head.R = 0 // kept without its outline
	e = &report.Export{Whose: "R1"}
	e.Add(r)
	row := table(t, e, "readings")[4]
	require.Equal(t, []string{"refused", "0", "NA"}, []string{row["status"], row["counts"], row["offset_superior_mm"]})
	require.Contains(t, row["reason"], "it was read with a head of 28 mm, and cannot be computed for the hip as it is now")
	require.Equal(t, "no-result", table(t, e, "films")[4]["state"])
}

func TestCodebookExplainsEveryColumn(t *testing.T) {
	e := &report.Export{Whose: "R1"}
	e.Add(record())
	explained := map[string]bool{}
	for _, row := range table(t, e, "codebook") {
		key := row["table"] + " " + row["column"]
		require.False(t, explained[key], key)
		explained[key] = true
		require.Equal(t, "NA", row["missing"])
	}
	n := 0
	for _, name := range report.ExportTables()[:4] {
		for column := range table(t, e, name)[0] {
			require.True(t, explained[name+" "+column], "%s %s", name, column)
			n++
		}
	}
	require.Len(t, explained, n)
	require.Error(t, e.Write(&bytes.Buffer{}, "secrets"))
}

func TestExportTellsWhatLooksLikeAName(t *testing.T) {
	e := &report.Export{}
	e.Add(record())
	require.Empty(t, e.Names())
	r := record()
	r.Hip.Patient = "Doe^Jane"
	e.Add(r)
	require.Equal(t, []string{"Doe^Jane"}, e.Names())
	for _, name := range report.ExportTables() {
		var b bytes.Buffer
		require.NoError(t, e.Write(&b, name))
		require.NotContains(t, b.String(), "films/", "file names may tell who somebody is")
	}
}

func TestHipsOfAStudy(t *testing.T) {
	r := record()
	none := study.Record{Hip: study.Hip{ID: "Q7-001-left", Side: study.Left, Surgery: r.Hip.Surgery}}
	rows := []study.Summary{r.Summary("R1"), none.Summary("R1")}
	for _, f := range []report.Format{report.Table, report.JSON, report.CSV} {
		golden(t, "hips."+strings.NewReplacer("table", "txt").Replace(string(f)), func(b *bytes.Buffer) error { return report.Hips(b, f, rows, "R1") })
	}
}
