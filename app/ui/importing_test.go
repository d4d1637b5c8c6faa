package ui

import (
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"
)

// What an import would do is shown before it is entered.
func TestImportIsShownThenEntered(t *testing.T) {
	d, dir := accepted(t)
	table := filepath.Join(dir, "hips.csv")
	put := func(text string) { require.NoError(t, os.WriteFile(table, []byte(text), 0o600)) }
	d.key(fyne.KeyF2, false)
	d.look()
	d.press("Import …")
	fields := onScreen[*field](d.win)
	fields[1].SetText(table)
	put("patient,side,surgery,head_mm\nT8,up,2004-01-01,28\n")
	d.press("Look")
	d.drain()
	require.Contains(t, shownText(d), `hips.csv: line 2, column side, "up"`)
	put("patient,side,surgery,head_mm,odd\nT8,left,2004-01-01,28,1\n")
	d.press("Look")
	d.drain()
	require.Contains(t, shownText(d), "Hips: 1 new, 0 changed, 0 as they are.")
	require.Contains(t, shownText(d), "not known, left out")
	n, _ := d.s.Overview().Hips()
	d.press("Import")
	d.drain()
	require.Contains(t, shownText(d), "Entered.")
	d.press("Close")
	d.look()
	now, _ := d.s.Overview().Hips()
	require.Equal(t, n+1, now)

	d.press("Measure all …")
	d.press("Measure")
	d.drain()
	require.Contains(t, d.s.Notice(), "Measured: ")
}

// Columns that spaces pad are parted by points, and what is indented stays so.
func TestPaddedColumnsAreParted(t *testing.T) {
	for padded, want := range map[string]string{
		"  side      side    right, left": "  side · side · right, left",
		"a b":                             "a b",
		"a  b   \nc  ":                    "a · b\nc",
		"a\n  b   c":                      "a\n  b · c",
		"a  b  c":                         "a · b · c",
	} {
		require.Equal(t, want, unpadded(padded))
	}
}
