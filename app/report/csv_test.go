package report_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/app/tables"
)

// What somebody named so is no formula in any table, and the program reads it back as it was.
func TestNoCellIsAFormula(t *testing.T) {
	const name = `=HYPERLINK("x")`
	hip := study.Hip{ID: name, Patient: "@p", Group: "-a"}
	q := study.Quantity{Of: name, Model: "+m", Name: "n", Value: -0.25}
	for what, write := range map[string]func(b *bytes.Buffer) error{
		"hips":       func(b *bytes.Buffer) error { return report.Hips(b, report.CSV, []study.Summary{{Hip: hip}}, "-r") },
		"rates":      func(b *bytes.Buffer) error { return report.Rates(b, report.CSV, []study.HipRate{{Hip: name}}) },
		"quantities": func(b *bytes.Buffer) error { return report.Quantities(b, report.CSV, []study.Quantity{q}) },
		"written": func(b *bytes.Buffer) error {
			return report.Written(b, report.CSV, []study.Written{{Film: study.Film{ID: name}}})
		},
		"films": func(b *bytes.Buffer) error {
			return report.Measurements(b, report.CSV, []study.Measurement{{Film: study.Film{Path: name}}})
		},
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b), what)
		rows, err := csv.NewReader(&b).ReadAll()
		require.NoError(t, err, what)
		found := false
		for _, row := range rows {
			for _, c := range row {
				require.NotContains(t, []string{"=", "@"}, c[:min(1, len(c))], what)
				found = found || study.UnguardCell(c) == name
			}
		}
		require.True(t, found || what == "hips", "%s: %q", what, rows)
		if what == "quantities" {
			require.Contains(t, rows[1], "-0.25", "a number stays one")
		}
	}
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
