package dataset_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
)

// awkward is a study with texts that are hard to carry over.
func awkward() *source {
	from := told()
	r := &from.records[0]
	r.Hip.Group = "=arm \"B\", ä'$x`"
	r.Values = append(r.Values, study.Value{Of: study.OfHip, Name: "remark 'x'", ID: r.Hip.ID, Text: "'-5"}, study.Value{Of: study.OfFilm, Name: "from", ID: "Fa", Text: "NA"},
		study.Value{Of: study.OfFilm, Name: "from", ID: "Fb", Text: "'70s"})
	from.variables = append(from.variables, study.Variable{Of: study.OfHip, Name: "remark 'x'", Type: study.Text, Label: `what "it" is, $x and größer`},
		study.Variable{Of: study.OfFilm, Name: "from", Type: study.Text})
	from.patients = []study.Patient{{Code: "alone", Sex: "female", HeightCM: 170.5}}
	return from
}

// onDisk writes a study to a folder.
func onDisk(t *testing.T, from *source) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "out")
	_, err := dataset.Save(t.Context(), from, dir, report.KeepOld, dataset.Options{Version: "0.1", Name: "awkward"})
	require.NoError(t, err)
	return dir
}

// run runs a program in a folder and returns what it says; the test is skipped where there
// is no such program.
func run(t *testing.T, dir, program string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(program); err != nil {
		t.Skipf("no %s here", program)
	}
	c := exec.CommandContext(t.Context(), program, args...)
	c.Dir = dir
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	require.NoError(t, c.Run(), out.String()+errs.String())
	return out.String()
}

// cells are the values of a package: by table, column and row.
type cells map[[3]string]string

// want are the values as the tables hold them, of every column of a table that has rows;
// missing ones are not there.
func want(t *testing.T, dir string) (values cells, labels map[[2]string]string, kinds map[[2]string]string) {
	t.Helper()
	values, labels, kinds = cells{}, map[[2]string]string{}, map[[2]string]string{}
	read := func(name string) [][]string {
		f, err := os.Open(filepath.Join(dir, name+".csv"))
		require.NoError(t, err)
		rows, err := csv.NewReader(f).ReadAll()
		require.NoError(t, errorsJoin(err, f.Close()))
		return rows
	}
	for _, row := range read("codebook")[1:] {
		labels[[2]string{row[0], study.UnguardCell(row[1])}], kinds[[2]string{row[0], study.UnguardCell(row[1])}] = study.UnguardCell(row[2]), row[4]
	}
	tables := map[string]bool{}
	for at := range labels {
		tables[at[0]] = true
	}
	for name := range tables {
		rows := read(name)
		for i, row := range rows[1:] {
			for k, c := range row {
				require.NotContains(t, []string{"=", "@", "\t"}, c[:1], "a formula to a spreadsheet: %s %s", name, rows[0][k])
				if c != "NA" {
					values[[3]string{name, study.UnguardCell(rows[0][k]), strconv.Itoa(i + 1)}] = study.UnguardCell(c)
				}
			}
		}
	}
	require.Greater(t, len(values), 2000)
	return values, labels, kinds
}

func errorsJoin(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

// compare holds what a program loaded, a line a cell with table, column, row, label and
// value, against the tables.
func compare(t *testing.T, dir, lines string) {
	t.Helper()
	values, labels, kinds := want(t, dir)
	got := cells{}
	for _, line := range strings.Split(strings.TrimSpace(lines), "\n") {
		f := strings.Split(strings.TrimSuffix(line, "\r"), "\x1f")
		require.Len(t, f, 5, "%q", line)
		require.Equal(t, labels[[2]string{f[0], f[1]}], f[3], "label of %s %s", f[0], f[1])
		if f[4] != "<missing>" {
			got[[3]string{f[0], f[1], f[2]}] = f[4]
		}
	}
	for at, v := range values {
		switch kinds[[2]string{at[0], at[1]}] {
		case "number", "integer":
			require.InDelta(t, number(t, v), number(t, got[at]), 1e-12*(1+max(number(t, v), -number(t, v))), at)
		default:
			require.Equal(t, v, got[at], at)
		}
		delete(got, at)
	}
	require.Empty(t, got, "values that the tables do not have")
}

func TestRLoadsThePackage(t *testing.T) {
	dir := onDisk(t, awkward())
	compare(t, dir, run(t, dir, "Rscript", "--vanilla", "-e", `source("load.R")
for (t in names(study)) for (k in names(study[[t]])) {
  x <- study[[t]][[k]]
  if (!length(x)) next
  v <- if (is.logical(x)) as.character(as.integer(x)) else if (inherits(x, "POSIXct")) format(x, "%Y-%m-%dT%H:%M:%SZ", tz = "UTC") else
    if (inherits(x, "Date")) format(x) else if (is.numeric(x)) sprintf("%.17g", x) else as.character(x)
  v[is.na(x)] <- "<missing>"
  writeLines(enc2utf8(paste(t, k, seq_along(v), attr(x, "label"), v, sep = "\x1f")), stdout(), useBytes = TRUE)
}`))
}

func TestPythonLoadsThePackage(t *testing.T) {
	dir := onDisk(t, awkward())
	if exec.Command("/usr/bin/python3", "-c", "import pandas").Run() != nil {
		t.Skip("no pandas here")
	}
	compare(t, dir, run(t, dir, "/usr/bin/python3", "-B", "-c", `
import sys, load, pandas as pd
sys.stdout.reconfigure(encoding="utf-8")
for t, d in load.load().items():
    for k in d.columns:
        for i, v in enumerate(d[k]):
            if pd.isna(v): v = "<missing>"
            elif d[k].dtype == "boolean": v = str(int(v))
            elif str(d[k].dtype) == "datetime64[ns]": v = v.strftime("%Y-%m-%d")
            elif isinstance(v, pd.Timestamp): v = v.strftime("%Y-%m-%dT%H:%M:%SZ")
            elif isinstance(v, float): v = repr(v)
            print(t, k, i + 1, d.attrs["labels"][k], v, sep="\x1f")
`))
}

// PSPP takes the syntax of SPSS.
func TestPSPPLoadsThePackage(t *testing.T) {
	dir := onDisk(t, awkward())
	values, _, kinds := want(t, dir)
	syntax, err := os.ReadFile(filepath.Join(dir, "load.sps"))
	require.NoError(t, err)
	tables := map[string]bool{}
	for at := range kinds {
		tables[at[0]] = true
	}
	syntax = append(syntax, "SET WIDTH=9999.\n"...)
	for name := range tables {
		syntax = append(syntax, "\nDATASET ACTIVATE "+name+".\nSAVE TRANSLATE /OUTFILE='"+name+".out' /TYPE=CSV /REPLACE /FIELDNAMES.\nDISPLAY DICTIONARY.\n"...)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "run.sps"), syntax, 0o600))
	said := run(t, dir, "pspp", "run.sps")
	require.NotContains(t, said, "error:")
	require.Equal(t, 1, strings.Count(said, "warning:"), "that there will be none")
	require.Contains(t, said, "standard error of penetration_superior_mm (mm)")
	require.Contains(t, said, "right hip")
	checked := 0
	for name := range tables {
		f, err := os.Open(filepath.Join(dir, name+".out"))
		require.NoError(t, err)
		rows, err := csv.NewReader(f).ReadAll()
		require.NoError(t, errorsJoin(err, f.Close()))
		for i, row := range rows[1:] {
			for k, c := range row {
				at := [3]string{name, rows[0][k], strconv.Itoa(i + 1)}
				kind, known := kinds[[2]string{at[0], at[1]}]
				if !known {
					continue // a name that SPSS does not take
				}
				v := values[at]
				switch {
				case kind == "number" || kind == "integer":
					if v == "" {
						require.Empty(t, strings.TrimSpace(c), at)
						continue
					}
					require.InDelta(t, number(t, v), number(t, c), 1e-6, at)
				case kind == "string" && v != "" && v != "NA":
					require.Equal(t, v, strings.TrimRight(c, " "), at)
				case kind == "date" && v != "":
					require.Equal(t, v[5:7]+"/"+v[8:]+"/"+v[:4], c, at)
				case kind == "datetime" && v != "":
					require.Contains(t, c, v[11:19], at)
				}
				checked++
			}
		}
	}
	require.Greater(t, checked, 1500)
}
