package study_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func TestCellsAreNoFormulas(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "XLPE": "XLPE", "'70s": "'70s", "a=b": "a=b", "Ä": "Ä", "'": "'",
		"-0.25": "-0.25", "+1e-9": "+1e-9", "-.5": "-.5", "-3.": "-3.",
		"=1+1": "'=1+1", "+cmd": "'+cmd", "-2+3": "'-2+3", "-Inf": "'-Inf", "-": "'-", "@SUM(A1)": "'@SUM(A1)",
		"\tx": "'\tx", "\r=x": "'\r=x", "\n": "'\n", "'=x": "''=x", "''-x": "'''-x", "'-5": "''-5", "'NA": "''NA",
	} {
		require.Equal(t, want, study.GuardCell(in))
		require.Equal(t, in, study.UnguardCell(study.GuardCell(in)), "%q", in)
	}
	for in, want := range map[string]string{"-5": "'-5", "'-5": "''-5", "NA": "'NA", "'NA": "''NA", "'=x": "''=x", "NAD": "NAD", "'NAD": "'NAD"} {
		require.Equal(t, want, study.GuardText(in))
		require.Equal(t, in, study.UnguardCell(study.GuardText(in)), "%q", in)
	}
	require.Equal(t, "NA", study.GuardCell("NA"), "what is not known stays that")
}

func FuzzCells(f *testing.F) {
	for _, s := range []string{"", "=1", "'=1", "''", "-1", "'-1", "NA", "''NA", "\t", "@", "x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, guard := range []func(string) string{study.GuardCell, study.GuardText} {
			require.Equal(t, s, study.UnguardCell(guard(s)))
		}
		require.NotContains(t, []string{"=", "@", "\t", "\r", "\n"}, guardedFirst(s))
	})
}

func guardedFirst(s string) string {
	g := study.GuardCell(s)
	return g[:min(1, len(g))]
}
