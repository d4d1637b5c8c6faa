package cli_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// makeStudy makes a study file of one hip that wears 0.1 mm a year by R1's
// readings, and of another without films. R2 read the last film 0.4 mm higher.
func makeStudy(t *testing.T, path string) {
	t.Helper()
	ctx := t.Context()
	st, err := store.Create(path)
	require.NoError(t, err)
	by := study.Stamp{Reader: "R1"}
	h := study.Hip{Patient: "Q7-001", Group: "B", Side: study.Right, Surgery: day("2004-05-03"),
		Implant: study.Implant{HeadMM: 28, HeadMaterial: "CoCr", LinerMM: 9, PE: "XLPE", ShellMM: 52}}
	_, err = st.SaveHip(ctx, study.Hip{Patient: "Doe Jane", Side: study.Left, Surgery: h.Surgery}, by)
	require.NoError(t, err)
	h, err = st.SaveHip(ctx, h, by)
	require.NoError(t, err)
	for i, date := range []string{"2004-06-14", "2005-06-14", "2007-06-14", "2009-06-14", "2014-06-14"} {
		f := study.Film{ID: fmt.Sprint("F", i), Path: "/home/doe/jane.dcm", Facts: study.Facts{Date: day(date), Side: study.Right}}
		f, err := st.SaveFilm(ctx, f, by)
		require.NoError(t, err)
		require.NoError(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, by))
		m := study.Measurement{Film: f, Status: study.Measured, Side: study.Right, HeadMM: 28}
		m.Head.Circle = measure.Circle{X: 100, Y: 100, R: 100}
		m.Cup.Circle = measure.Circle{X: 100, Y: 102, R: 190}
		m.Reading.Scale = 0.14
		m.Reading.Offset = measure.Vector{Superior: 0.1 * h.Years(f.Date()), Cov: [2][2]float64{{1e-4, 0}, {0, 1e-4}}}
		r := study.Reading{ID: fmt.Sprint("r", i), HipID: h.ID, FilmID: f.ID, Reader: "R1", At: time.Date(2020, 1, 1, i, 0, 0, 0, time.UTC), Version: "0.1", Measurement: m}
		require.NoError(t, st.AddReading(ctx, r))
		if i == 4 {
			r.ID, r.Reader = "r9", "R2"
			r.Measurement.Reading.Offset.Superior += 0.4
			require.NoError(t, st.AddReading(ctx, r))
		}
	}
	require.NoError(t, st.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: "F2", Code: "projection", Reader: "R1", At: time.Now(), Version: "0.1"}))
	require.NoError(t, st.Close())
}

func TestStudyCommand(t *testing.T) {
	t.Chdir(t.TempDir())
	makeStudy(t, "s.linerwatch")
	s := &script{t: t}
	s.run(`
$ study list s.linerwatch --readings-of R1 --format csv
no-err
csv 2 hip = "H2"
csv 2 patient = "Q7-001"
csv 2 side = "right"
csv 2 state = "done"
csv 2 films_read = 4
csv 2 films_left_out = 1
csv 2 readings_of = "R1"
csv 2 rate_mm_per_year ~ 0.1 1e-9
csv 1 state = "needs attention"
csv 1 rate_mm_per_year = ""
$ study list s.linerwatch --format csv
csv 2 readings_of = "latest"
csv 2 rate_mm_per_year ~ 0.14 0.02
$ study export s.linerwatch --out out
out Written to out: 2 patients, 2 hips, 5 films, 6 readings and what each column means.
err linerwatch: study export: "Doe Jane" may be a name: look at it before the tables leave the house
exists out/hips.csv
exists out/films.csv
exists out/readings.csv
exists out/fits.csv
exists out/codebook.csv
exists out/datapackage.json
$? 2 study export s.linerwatch --out out
err linerwatch: study export: --out: out/agreement.csv exists already; name another folder, or add --replace
$ agree out/penetration.csv --value penetration_superior_mm
no-err
out rows passed over
out 1 are of films left out
$? 1 agree out/readings.csv
err no column penetration_mm
$ study export s.linerwatch --out out --replace
$? 2 study export s.linerwatch
err linerwatch: study export: no folder; name the folder: --out DIR
$? 2 study export s.linerwatch --out out2 --key-file k
err linerwatch: study export: --key-file is for codes of an export without identities; add --deidentify
$? 2 study export s.linerwatch --out out2 --readings-of R9
err linerwatch: study export: no reading by "R9" in s.linerwatch; leave --readings-of out, or name a reader of the study
absent out2
$? 2 study list s.linerwatch --readings-of R9
err linerwatch: study: no reading by "R9" in s.linerwatch; leave --readings-of out, or name a reader of the study
$? 2 study list
err linerwatch: study: name one study file; linerwatch study list FILE.linerwatch
$? 2 study s.linerwatch
err linerwatch: study: say what to do with the study; linerwatch study list s.linerwatch
$? 2 study
err linerwatch: study: it is one of adjudicate, assign, backup, check, copy, export, import, list, lists, measure, merge, new, read, readers, replay, rule, salvage, unblind; linerwatch help study
$? 1 study list none.linerwatch
err linerwatch: study: there is no study file none.linerwatch
absent none.linerwatch
$? 1 study list .
err linerwatch: study: . is a folder, not a study file
$? 1 study list bad.linerwatch
err not a study file

-- bad.linerwatch --
no study
`)
	films, err := os.ReadFile("out/films.csv")
	require.NoError(t, err)
	require.NotContains(t, string(films), "jane", "file names may tell who somebody is")
}

// unpack writes a study that an earlier version of the program left.
func unpack(t *testing.T, name, path string) {
	t.Helper()
	in, err := os.Open(filepath.Join("..", "store", "testdata", name))
	require.NoError(t, err)
	z, err := gzip.NewReader(in)
	require.NoError(t, err)
	data, err := io.ReadAll(z)
	require.NoError(t, err)
	require.NoError(t, in.Close())
	require.NoError(t, os.WriteFile(path, data, 0o600))
}

// A study of an earlier version is not changed without a word, nor is one that has no hips;
// where it takes long that is said meanwhile.
func TestStudyOfAnEarlierVersion(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "old"+study.FileExt)
	run := func(second time.Duration, terminal bool) (stdout, stderr string) {
		var out, errs bytes.Buffer
		now := day("2040-01-01")
		require.Zero(t, cli.Run(t.Context(), []string{"study", "list", path, "--upgrade"}, cli.Env{Stdout: &out, Stderr: &errs, Progress: terminal,
			Now: func() time.Time { now = now.Add(second); return now }, Studies: store.Files()}), errs.String())
		return out.String(), errs.String()
	}
	const changed = "linerwatch: study: old.linerwatch was of an earlier version of the program; it and its 5 readings have this version's form now\n"
	unpack(t, "step6.study.gz", path)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	var errs bytes.Buffer
	require.Equal(t, 1, cli.Run(t.Context(), []string{"study", "list", path}, cli.Env{Stdout: io.Discard, Stderr: &errs, Now: time.Now, Studies: store.Files()}))
	require.Regexp(t, `^linerwatch: study: of an earlier version of the program \(file version 6, this program's is \d+\) \(old.linerwatch\); add --upgrade to bring it to this version's form: a backup is made first\n$`, errs.String())
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, before, after)
	out, said := run(0, false)
	require.Len(t, store.Backups(path), 1)
	require.Contains(t, out, "P-017 right")
	require.Equal(t, changed, said)
	_, said = run(0, false)
	require.Empty(t, said, "it is changed once")

	unpack(t, "step6.study.gz", path)
	_, said = run(600*time.Millisecond, false)
	require.Equal(t, "linerwatch: study: bringing old.linerwatch to this version's form: 2 of 5 readings\n"+changed, said)
	unpack(t, "step6.study.gz", path)
	_, said = run(600*time.Millisecond, true)
	require.Contains(t, said, "\rlinerwatch: study: bringing old.linerwatch to this version's form: 5 of 5\x1b[K")
	require.Contains(t, said, "\r\x1b[K"+changed)

	unpack(t, "empty6.study.gz", path)
	out, said = run(0, false)
	require.Equal(t, strings.Replace(changed, "5 readings", "0 readings", 1), said)
	require.NotContains(t, out, "P-017")
}
