package report_test

import (
	"bytes"
	"encoding/csv"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/app/tables"
)

// formula is what a spreadsheet would run.
const formula = `=HYPERLINK("x")`

// csvTables writes a table by each function of this package that writes one as CSV, of things that
// are named so.
func csvTables() map[string]func(w io.Writer) error {
	hip := study.Hip{ID: formula, Patient: "@p", Group: "-a"}
	film := study.Film{ID: formula, Path: formula}
	by := study.Stamp{Reader: formula, Why: formula}
	trend := study.Trend{Hip: hip, Films: []study.Measurement{{Film: film}}, Penetration: []study.Penetration{{Film: film}}}
	return map[string]func(w io.Writer) error{
		"Hips":  func(w io.Writer) error { return report.Hips(w, report.CSV, []study.Summary{{Hip: hip}}, "-r") },
		"Rates": func(w io.Writer) error { return report.Rates(w, report.CSV, []study.HipRate{{Hip: formula}}) },
		"NewQuantities": func(w io.Writer) error {
			return report.Quantities(w, report.CSV, []study.Quantity{{Of: formula, Model: "+m", Name: "n", Value: -0.25}})
		},
		"Written": func(w io.Writer) error { return report.Written(w, report.CSV, []study.Written{{Film: film}}) },
		"Measurements": func(w io.Writer) error {
			return report.Measurements(w, report.CSV, []study.Measurement{{Film: film}})
		},
		"Trend": func(w io.Writer) error { return report.Trend(w, report.CSV, trend) },
		"Facts": func(w io.Writer) error {
			return report.Facts(w, report.CSV, []study.FileFacts{{Film: formula}})
		},
		"Lists": func(w io.Writer) error {
			return report.Lists(w, report.CSV, []report.ListProgress{{List: study.List{ID: "L1", Reader: formula, Made: by}}})
		},
		"Archives": func(w io.Writer) error { return report.Archives(w, report.CSV, []report.Archive{{Name: formula}}) },
		"Series": func(w io.Writer) error {
			return report.Series(w, report.CSV, []study.Series{{UID: "1", Description: formula}})
		},
		"Fetched": func(w io.Writer) error { return report.Fetched(w, report.CSV, []study.Fetched{{Instance: formula}}) },
		"KnownHips": func(w io.Writer) error {
			return report.KnownHips(w, report.CSV, []report.Known{{Trend: trend}})
		},
		"Penetrations": func(w io.Writer) error { return report.Penetrations(w, []study.Trend{trend}) },
		"Deidentified": func(w io.Writer) error {
			return report.Deidentified(w, report.CSV, []study.Deidentified{{Film: formula}})
		},
		"Check": func(w io.Writer) error {
			return report.Check(w, report.CSV, report.Checked{Films: []report.CheckedFilm{{Film: film, State: "absent", Bad: true}},
				Audit: study.Audit{Broken: []study.Break{{TrailRow: study.TrailRow{Stamp: by, What: "hip", ID: formula}}}}})
		},
		"Codes": func(w io.Writer) error {
			return report.Codes(w, report.CSV, map[string][]string{formula: {"-R1"}})
		},
		"Salvaged": func(w io.Writer) error {
			return report.Salvaged(w, report.CSV, study.Salvaged{Kinds: []study.SalvagedKind{{Name: formula}}})
		},
	}
}

// What somebody named so is no formula in any table, and the program reads it back as it was.
func TestNoCellIsAFormula(t *testing.T) {
	for what, write := range csvTables() {
		var b bytes.Buffer
		require.NoError(t, write(&b), what)
		rows, err := csv.NewReader(&b).ReadAll()
		require.NoError(t, err, what)
		found := false
		for _, row := range rows {
			for _, c := range row {
				require.NotContains(t, []string{"=", "@"}, c[:min(1, len(c))], what)
				found = found || study.UnguardCell(c) == formula
			}
		}
		require.True(t, found, "%s: %q", what, rows)
		if what == "NewQuantities" {
			require.Contains(t, rows[1], "-0.25", "a number stays one")
		}
	}
}

// callers are the functions of a folder's Go files, tests apart, that call one of some names.
func callers(t *testing.T, dir string, names ...string) (out []string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range list {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), filepath.Join(dir, e.Name()), nil, 0)
		require.NoError(t, err)
		for _, d := range file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			ast.Inspect(f, func(n ast.Node) bool {
				if call, ok := n.(*ast.CallExpr); ok && slices.Contains(names, types.ExprString(call.Fun)) && !slices.Contains(out, f.Name.Name) {
					out = append(out, f.Name.Name)
				}
				return true
			})
		}
	}
	return out
}

// Every table of a command is one of those that were looked at above, or of an export, of which
// another test looks at every cell.
func TestEveryTableIsGuarded(t *testing.T) {
	var looked []string
	for name := range csvTables() {
		looked = append(looked, name)
	}
	require.ElementsMatch(t, looked, slices.DeleteFunc(callers(t, ".", "writeCSV", "newCSV"), func(name string) bool { return name == "writeCSV" }))
	where := map[string][]string{}
	require.NoError(t, filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		if strings.HasPrefix(d.Name(), ".") && path != "../.." || d.Name() == "testdata" {
			return fs.SkipDir
		}
		if found := callers(t, path, "csv.NewWriter"); len(found) > 0 {
			where[filepath.ToSlash(path)] = found
		}
		return nil
	}))
	require.Equal(t, map[string][]string{
		"../../app/report":            {"newCSV"},
		"../../app/report/dataset":    {"block"},
		"../../measure/phantom/bench": {"export"}, "../../wearfit/bench": {"linerTable"}, // of no command: made for those who work on the program
	}, where)
}

func TestGuardedTablesAreReadBack(t *testing.T) {
	rates, bad, err := tables.Rates(strings.NewReader("hip,years,penetration_mm\n'=h,1,-0.1\n'=h,3,0.1\n''=h,1,0\n''=h,3,0.4\n'70s,1,0\n'70s,2,0.5\n"), nil, 0)
	require.NoError(t, err)
	require.Empty(t, bad)
	var names []string
	for _, r := range rates {
		names = append(names, r.Hip)
		require.NotNil(t, r.Fit)
	}
	require.Equal(t, []string{"=h", "'=h", "'70s"}, names)
	require.InDelta(t, 0.1, rates[0].Fit.Rate, 1e-12)
}
