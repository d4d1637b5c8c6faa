package cli_test

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// A study that was changed by other means is written, and that is told there and beside it.
func TestStudyChangedOutsideTheProgram(t *testing.T) {
	t.Chdir(t.TempDir())
	makeStudy(t, "s.linerwatch")
	s := &script{t: t}
	s.run(`
$ study export s.linerwatch --out before
`)
	b, err := os.ReadFile("s.linerwatch")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile("s.linerwatch", bytes.ReplaceAll(b, []byte("Q7-001"), []byte("Q7-002")), 0o600))
	s.run(`
$? 1 study check s.linerwatch
$ study export s.linerwatch --out out
err linerwatch: study export: The study was changed outside the program: 
$ report study s.linerwatch --out s.html
err linerwatch: report: The study was changed outside the program: 
$ report reader s.linerwatch --hip H2 --out r.pdf
err linerwatch: report: The study was changed outside the program: 
$ report patient s.linerwatch --hip H2 --unchecked --out p.pdf
err linerwatch: report: The study was changed outside the program: 
`)
	for _, file := range []string{"out/datapackage.json", "s.html"} {
		b, err := os.ReadFile(file)
		require.NoError(t, err)
		require.Contains(t, string(b), "The study was changed outside the program", file)
	}
	b, err = os.ReadFile("before/datapackage.json")
	require.NoError(t, err)
	require.NotContains(t, string(b), "outside the program")
}
