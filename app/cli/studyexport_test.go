package cli_test

import (
	"fmt"
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
