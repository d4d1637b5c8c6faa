package dataset_test

import (
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
)

func TestExportDropsNothing(t *testing.T) {
	e := exported(t, dataset.Options{Whose: "R1"}, kept(record()))
	films := e.table(t, "films")
	require.Len(t, films, 7)
	var states []string
	for _, f := range films {
		states = append(states, f["state"])
	}
	require.Equal(t, []string{"read", "read", "left-out", "read", "read", "no-result", "unread"}, states)
	require.Equal(t, "projection", films[2]["left_out_code"])
	require.Equal(t, "pelvis turned", films[2]["left_out_note"])
	require.Equal(t, "NA", films[2]["penetration_superior_mm"], "a fit of the table counts what the trend counts")
	require.Equal(t, "0.5", e.table(t, "penetration")[2]["penetration_superior_mm"], "left out, and still told")
	require.Equal(t, "0", films[2]["in_line"])
	require.Equal(t, "1.27", films[4]["penetration_superior_mm"])
	require.Equal(t, "1", films[4]["in_line"])
	require.Equal(t, "NA", films[6]["reading_id"])
	require.Equal(t, "3", films[4]["readings"])

	readings := e.table(t, "readings")
	require.Len(t, readings, 9)
	require.Equal(t, []string{"R2", "2", "r2", "0"}, []string{readings[7]["reader"], readings[7]["reading_no"], readings[7]["supersedes"], readings[7]["counts"]})
	require.Equal(t, "1", readings[0]["counts"])
	require.Equal(t, "0", readings[2]["counts"], "its film is left out")
	require.Equal(t, "refused", readings[5]["status"])
	require.Equal(t, "NA", readings[5]["offset_superior_mm"], "no number where nothing was measured")

	hips := e.table(t, "hips")
	require.Len(t, hips, 1)
	require.Equal(t, `arm, "B"`, hips[0]["group"])
	require.Equal(t, []string{"7", "4", "1", "1"}, []string{hips[0]["films"], hips[0]["films_read"], hips[0]["films_left_out"], hips[0]["films_unread"]})
	require.Equal(t, "1", hips[0]["films_no_result"])
	require.Equal(t, "R1;R2", hips[0]["readers"])
	require.Equal(t, "NA", hips[0]["shell_mm"], "unknown is not zero")

	other := exported(t, dataset.Options{}, kept(record()))
	require.Equal(t, "1.395", other.table(t, "films")[4]["penetration_superior_mm"], "the latest reading is R2's")
	require.NotEqual(t, hips[0]["rate_mm_per_year"], other.table(t, "hips")[0]["rate_mm_per_year"])
}

func TestExportTellsWithdrawnReadings(t *testing.T) {
	r := record()
	r.Readings[7].Withdrawn = &study.Withdrawal{ReadingID: r.Readings[7].ID, Reader: "R2", At: time.Date(2021, 2, 3, 4, 5, 6, 0, time.UTC)}
	e := exported(t, dataset.Options{}, kept(r))
	rows := e.table(t, "readings")
	require.Len(t, rows, 9)
	require.Equal(t, []string{"2021-02-03T04:05:06Z", "R2", "1", "0"}, []string{rows[7]["withdrawn_at"], rows[7]["withdrawn_by"], rows[7]["withdrawn"], rows[7]["counts"]})
	require.Equal(t, []string{"NA", "NA", "0", "1"}, []string{rows[6]["withdrawn_at"], rows[6]["withdrawn_by"], rows[6]["withdrawn"], rows[6]["counts"]}, "the one before it counts again")
}

func TestExportCountsEdgePoints(t *testing.T) {
	r := record()
	r.Readings[0].Kept = study.Kept{Head: 210, Cup: 95}
	rows := exported(t, dataset.Options{Whose: "R1"}, kept(r)).table(t, "readings")
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
	e := exported(t, dataset.Options{Whose: "R1"}, kept(r))
	before := e.table(t, "readings")
	r.Hip.Implant.HeadMM = 32
	e = exported(t, dataset.Options{Whose: "R1"}, kept(r))
	films, moved, after := map[string]map[string]string{}, map[string]map[string]string{}, e.table(t, "readings")
	for _, p := range e.table(t, "penetration") {
		moved[p["reading_id"]] = p
	}
	for _, f := range e.table(t, "films") {
		films[f["film_id"]] = f
	}
	for i, g := range after {
		p := moved[g["reading_id"]]
		if g["status"] != "measured" {
			require.Contains(t, []string{"", "NA"}, p["penetration_superior_mm"])
			continue
		}
		require.Equal(t, []string{"32", "28"}, []string{g["head_mm"], g["accepted_head_mm"]})
		for _, column := range []string{"mm_per_px", "offset_superior_mm", "se_offset_superior_mm", "thinnest_mm"} {
			require.InEpsilon(t, number(t, before[i][column])*32/28, number(t, g[column]), 1e-9, column)
		}
		if f := films[g["film_id"]]; f["reading_id"] == g["reading_id"] && f["state"] == "read" {
			require.Equal(t, f["penetration_superior_mm"], p["penetration_superior_mm"])
			require.Equal(t, f["se_penetration_medial_mm"], p["se_penetration_medial_mm"])
		} else {
			require.InDelta(t, number(t, g["offset_superior_mm"])-number(t, after[0]["offset_superior_mm"]), number(t, p["penetration_superior_mm"]), 1e-9,
				"of R2, since the reading of the baseline film that counts")
		}
	}
	require.Equal(t, "32", e.table(t, "hips")[0]["head_mm"])

	r.Readings[4].Head.R = 0 // kept without its outline
	e = exported(t, dataset.Options{Whose: "R1"}, kept(r))
	row := e.table(t, "readings")[4]
	require.Equal(t, []string{"refused", "0", "NA"}, []string{row["status"], row["counts"], row["offset_superior_mm"]})
	require.Contains(t, row["reason"], "it was read with a head of 28 mm, and cannot be computed for the hip as it is now")
	require.Equal(t, "no-result", e.table(t, "films")[4]["state"])
}

// Every column of every table is explained in the codebook and in datapackage.json, with a
// label that any statistics program takes.
func TestCodebookExplainsEveryColumn(t *testing.T) {
	e := exported(t, dataset.Options{Whose: "R1"}, kept(record()))
	explained := map[string]bool{}
	for _, row := range e.table(t, "codebook") {
		key := row["table"] + " " + row["column"]
		require.False(t, explained[key], key)
		explained[key] = true
		require.Equal(t, `"NA"`, row["missing"])
		require.NotEqual(t, "NA", row["label"], key)
		require.LessOrEqual(t, len(row["label"]), 80, row["label"])
		require.LessOrEqual(t, len(row["column"]), 32, "Stata takes no longer names")
	}
	n := 0
	for name, file := range e.files {
		if table, ok := strings.CutSuffix(name, ".csv"); ok {
			header, err := csv.NewReader(file).Read()
			require.NoError(t, err)
			for _, column := range header {
				require.True(t, explained[table+" "+column], "%s %s", name, column)
				n++
			}
		}
	}
	require.Len(t, explained, n)
}

func TestExportTellsWhatLooksLikeAName(t *testing.T) {
	r := record()
	e := exported(t, dataset.Options{}, kept(r))
	require.Empty(t, e.told.Names)
	r.Hip.Patient = "Doe^Jane"
	e = exported(t, dataset.Options{}, kept(r))
	require.Equal(t, []string{"Doe^Jane"}, e.told.Names)
	for name, file := range e.files {
		require.NotContains(t, file.String(), "films/", name)
		require.NotContains(t, file.String(), ".dcm", "file names may tell who somebody is")
	}
}
