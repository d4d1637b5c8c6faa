package cli_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// groupStudy makes a study of hips of two groups, which wear 0.05 and 0.15 mm a year, and
// of one of none. A patient's code is a formula to a spreadsheet.
func groupStudy(t *testing.T, path string) {
	t.Helper()
	ctx := t.Context()
	st, err := store.Create(path)
	require.NoError(t, err)
	by := study.Stamp{Reader: "R1"}
	for k, group := range []string{"=a", "=a", "=a", "b", "b", "b", ""} {
		h, err := st.SaveHip(ctx, study.Hip{Patient: fmt.Sprintf("@Q7-%03d", k), Group: group, Side: study.Right, Surgery: day("2004-05-03"), Implant: study.Implant{HeadMM: 28}}, by)
		require.NoError(t, err)
		rate := map[string]float64{"=a": 0.05, "b": 0.15}[group] + 0.004*float64(k%3)
		for i, date := range []string{"2004-06-14", "2005-06-14", "2007-06-14", "2009-06-14"} {
			f, err := st.SaveFilm(ctx, study.Film{ID: fmt.Sprintf("F%d%d", k, i), Path: "film.dcm", Facts: study.Facts{Date: day(date), PixelKey: fmt.Sprint("p", k, i)}}, by)
			require.NoError(t, err)
			require.NoError(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, by))
			m := study.Measurement{Film: f, Status: study.Measured, Side: study.Right, HeadMM: 28}
			m.Head.Circle, m.Cup.Circle = measure.Circle{X: 100, Y: 100, R: 100}, measure.Circle{X: 100, Y: 102, R: 190}
			m.Reading.Scale = 0.14
			m.Reading.Offset = measure.Vector{Superior: rate*h.Years(f.Date()) + 0.01*float64(i%2), Cov: [2][2]float64{{1e-4, 0}, {0, 1e-4}}}
			require.NoError(t, st.AddReading(ctx, study.Reading{ID: fmt.Sprintf("r%d%d", k, i), HipID: h.ID, FilmID: f.ID, Reader: "R1", At: time.Date(2020, 1, 1, i, 0, 0, 0, time.UTC), Version: "0.1", Measurement: m}))
		}
	}
	require.NoError(t, st.Close())
}

// What is exported goes to the other commands as it is.
func TestExportedTablesGoToTheCommands(t *testing.T) {
	t.Chdir(t.TempDir())
	groupStudy(t, "s.linerwatch")
	s := &script{t: t}
	s.run(`
$ study export s.linerwatch --out out
no-err
$ fit out/films.csv --by group --hip hip_id --value penetration_superior_mm --se se_penetration_superior_mm --se-baseline se_baseline_superior_mm --format csv
no-err
csv 1 of = "'=a"
csv 1 quantity = "mean rate"
csv 4 of = "b"
out 4 hold NA in column group
$ fit out/penetration.csv --mixed --by group --hip hip_id --value penetration_superior_mm --format csv
no-err
out rows passed over
$ study export s.linerwatch --out anonymous --deidentify --key-file secret
no-err
exists secret
$? 1 study export s.linerwatch --out other --deidentify --key-file other/secret
absent other
$ fit anonymous/films.csv --by group --hip hip_id --value penetration_superior_mm --format csv
no-err
csv 1 of = "'=a"
`)
}

// A table of readings is fitted by those of them that count, as the table of films is.
func TestFitOfReadingsTakesThoseThatCount(t *testing.T) {
	t.Chdir(t.TempDir())
	makeStudy(t, "s.linerwatch")
	s := &script{t: t}
	const columns = " --hip hip_id --value penetration_superior_mm --se se_penetration_superior_mm --se-baseline se_baseline_superior_mm --format "
	s.run("$ study export s.linerwatch --out out\n$ study export s.linerwatch --out first --readings-of R1\n")
	for _, of := range []string{"out", "first"} {
		s.run("$ fit " + of + "/films.csv" + columns + "json")
		films := []any{s.jsonAt("films", "[0].fit.rate_mm_per_year"), s.jsonAt("films", "[0].fit.lo95"), s.jsonAt("films", "[0].fit.bedding_in_mm")}
		s.run("$ fit " + of + "/penetration.csv" + columns + "json\nout 2 rows are passed over: their readings do not count in the export")
		require.Equal(t, films, []any{s.jsonAt(of, "[0].fit.rate_mm_per_year"), s.jsonAt(of, "[0].fit.lo95"), s.jsonAt(of, "[0].fit.bedding_in_mm")})
	}
	s.run(`
$ fit out/penetration.csv --medial penetration_medial_mm --hip hip_id --value penetration_superior_mm --format json
out 2 rows are passed over: their readings do not count in the export
`)
}

// bytesOf are the files of a folder.
func bytesOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	out := map[string]string{}
	for _, e := range list {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		out[e.Name()] = string(b)
	}
	return out
}

// An export is written again, byte for byte, once more was read and a hip was corrected.
func TestExportOfThen(t *testing.T) {
	t.Chdir(t.TempDir())
	groupStudy(t, "s.linerwatch")
	s := &script{t: t}
	s.run("$ study export s.linerwatch --out first\n$ study export s.linerwatch --out hidden --deidentify")
	var p struct {
		Program struct {
			Row  int64  `json:"trail_row"`
			Hash string `json:"trail_hash"`
		}
	}
	first := bytesOf(t, "first")
	require.NoError(t, json.Unmarshal([]byte(first["datapackage.json"]), &p))
	require.Positive(t, p.Program.Row)
	require.Len(t, p.Program.Hash, 64)

	ctx := t.Context()
	st, err := store.Open("s.linerwatch")
	require.NoError(t, err)
	later := study.Stamp{Reader: "R2", At: time.Date(2020, 2, 1, 0, 0, 0, 0, time.UTC), Version: "0.1"}
	hips, err := st.Hips(ctx)
	require.NoError(t, err)
	list, err := st.Readings(ctx, hips[0].ID)
	require.NoError(t, err)
	again := list[1]
	again.ID, again.Reader, again.At = "again", later.Reader, later.At
	again.Measurement.Reading.Offset.Superior += 0.3
	require.NoError(t, st.AddReading(ctx, again))
	h := hips[0]
	h.Implant.HeadMM, h.Group = 32, "b"
	_, err = st.SaveHip(ctx, h, later)
	require.NoError(t, err)
	require.NoError(t, st.SaveDraft(ctx, study.Draft{HipID: hips[1].ID, FilmID: "F10", Kind: study.Proposed, At: later.At, Version: "0.1", Outlines: []byte("{}")}))
	require.NoError(t, st.Close())

	s.run(fmt.Sprintf(`
$ study export s.linerwatch --out now
$ study export s.linerwatch --at %d --out row
err linerwatch: study export: As it was after row %d of the audit trail (2020-01-01T03:00:00Z).
$ study export s.linerwatch --at 2020-01-31 --out day
$ study export s.linerwatch --at 2020-01-31T23:00:00+01:00 --out time
$ study export s.linerwatch --at 2020-01-31 --out apart --deidentify
$? 1 study export s.linerwatch --at 900 --out none
err linerwatch: study export: the audit trail has no row 900: its last is %d
absent none
$? 1 study export s.linerwatch --at 2020-01-01T01:30:00Z --out none
err the clock was set back
absent none
$? 2 study export s.linerwatch --at yesterday --out none
err name a row of the audit trail, or a time such as 2026-03-01T09:30:00Z or 2026-03-01
`, p.Program.Row, p.Program.Row, p.Program.Row+2))
	require.NotEqual(t, first["films.csv"], bytesOf(t, "now")["films.csv"])
	for _, dir := range []string{"row", "day", "time"} {
		require.Equal(t, first, bytesOf(t, dir), dir)
	}
	require.Equal(t, bytesOf(t, "hidden"), bytesOf(t, "apart"))
}
