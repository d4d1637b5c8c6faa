package ui

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
	"linerwatch/app/report"
	"linerwatch/app/report/dataset"
)

// The window and the command write the same tables of a study, with films that wait,
// cannot be read, are edited and have gone from their place.
func TestWindowAndCommandExportTheSame(t *testing.T) {
	dir := t.TempDir()
	d := reading(t, dir, "T1", series, nil)
	path := filepath.Join(dir, "s.linerwatch")
	require.NoError(t, d.s.SetReader("R1"))
	require.NoError(t, d.create(path))
	other := filepath.Join(dir, "T2")
	require.NoError(t, os.Mkdir(other, 0o700))
	for _, f := range []string{"T2/2006-01-01.dcm", "T2/2007-01-01.dcm", "T1/torn.dcm", "T1/2013-01-01.dcm", "T1/2014-01-01.dcm"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, filepath.FromSlash(f)), []byte("film"), 0o600))
	}
	d.add([]string{other, filepath.Join(dir, "T1")})
	d.drain()
	d.acceptAs("R1", 0, 1)
	require.NoError(t, os.Remove(filepath.Join(dir, "T1", series[1])))
	d.s.Strip().Select(2)
	d.s.Edits().Nudge(1, 0) // not on the disk yet

	tables := filepath.Join(dir, "window")
	var said string
	d.export(tables, report.KeepOld, false, func(text string, err error) {
		require.NoError(t, err)
		said = text
	})
	d.drain()
	require.NotEmpty(t, said)
	var out, errs bytes.Buffer
	require.Equal(t, 0, cli.Run(t.Context(), []string{"study", "export", path, "--out", filepath.Join(dir, "command")},
		cli.Env{Stdout: &out, Stderr: &errs, Studies: files, Version: "test"}), errs.String())
	d.look()
	hips, waiting := d.s.Overview().Hips()
	require.Equal(t, 1, hips)
	require.Equal(t, []string{"2 films wait and are of no hip yet.", "T2, right: 2 films wait to be begun."}, waiting)
	d.askExport()
	require.Contains(t, shownText(d), "1 hip · 2 films wait and are of no hip yet. T2, right: 2 films wait to be begun.")
	for _, name := range dataset.Files() {
		window, err := os.ReadFile(filepath.Join(tables, name))
		require.NoError(t, err)
		command, err := os.ReadFile(filepath.Join(dir, "command", name))
		require.NoError(t, err)
		require.Equal(t, string(command), string(window), name)
	}
	text, err := os.ReadFile(filepath.Join(tables, "films.csv"))
	require.NoError(t, err)
	count := map[string]int{}
	missing := map[string]int{}
	for _, row := range rowsOf(t, string(text), "film_id") {
		count[row["film_status"]]++
		missing[row["file_missing"]]++
	}
	text, err = os.ReadFile(filepath.Join(tables, "unsorted.csv"))
	require.NoError(t, err)
	for _, row := range rowsOf(t, string(text), "film_id") {
		count[row["film_status"]]++
		missing[row["file_missing"]]++
	}
	require.Equal(t, map[string]int{"accepted": 2, "draft": 1, "unread": 1, "proposal": 1, "not-found": 1, "unsorted": 2, "unreadable": 1}, count)
	require.Equal(t, map[string]int{"1": 1, "0": 8}, missing)
}
