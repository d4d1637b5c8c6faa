package ui

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/raster"
)

// gradedCells are the cells of columns of an exported table, row by row.
func gradedCells(t *testing.T, path string, columns ...string) (out [][]string) {
	f, err := os.Open(path)
	require.NoError(t, err)
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.NoError(t, f.Close())
	for _, row := range rows[1:] {
		var cells []string
		for _, c := range columns {
			i := slices.Index(rows[0], c)
			require.GreaterOrEqual(t, i, 0, c)
			cells = append(cells, row[i])
		}
		out = append(out, cells)
	}
	return out
}

// One key grades a film, which shows its numbers; the grade is in the tables under its reader.
func TestFilmIsGradedByAKey(t *testing.T) {
	d, dir := proposed(t, series...)
	require.NoError(t, d.s.SetReader("R2"))
	path := filepath.Join(dir, "s.linerwatch")
	require.NoError(t, d.create(path))
	d.drain()
	d.s.Strip().Select(1)
	d.refresh()
	require.NotEmpty(t, figures(d.s, d.s.Strip().Selected()), "the study does not ask")
	require.False(t, d.films.side.grade.object.Visible())

	require.NoError(t, batch.SetGradesFirst(t.Context(), d.files[path], true, study.Stamp{Reader: "K1"}))
	require.NoError(t, d.s.SetReader("R3"))
	d.s.Book().Open(path, func(err error) { require.NoError(t, err) })
	d.opened()
	d.drain()
	keys := "456"
	for i := range series {
		d.s.Strip().Select(i)
		d.drain()
		f := d.s.Strip().Selected()
		require.True(t, d.s.Covered(f))
		require.True(t, d.films.side.grade.object.Visible())
		sc := scene(d.s, layers{outlines: true, edge: -1}, 800, 600, 1)
		require.NotEmpty(t, sc.Rings, "its outlines are shown")
		require.Empty(t, sc.Arrows)
		require.False(t, slices.ContainsFunc(sc.Rings, func(r raster.Ring) bool { return r.Ghost }))
		require.Empty(t, figures(d.s, f))
		d.key(fyne.KeyReturn, false)
		require.Equal(t, session.Proposed, f.State(), "nothing is accepted")
		d.letter(rune(keys[i%3]))
		require.False(t, d.films.side.grade.object.Visible())
		require.NotEmpty(t, figures(d.s, f))
		require.Contains(t, d.films.side.state.Text, []string{"A: good", "B: usable", "C: poor"}[i%3])
		d.letter('4')
		require.Equal(t, string("ABC"[i%3]), d.s.Grade(f).Quality, "a grade stays")
		d.key(fyne.KeyReturn, false)
		require.Equal(t, session.Accepted, f.State())
		d.drain()
	}
	tables := filepath.Join(t.TempDir(), "tables")
	d.export(tables, report.KeepOld, false, func(_ string, err error) { require.NoError(t, err) })
	d.drain()
	var films, readings [][]string
	for i := range series {
		films = append(films, []string{string("ABC"[i%3])})
		readings = append(readings, []string{"R3", string("ABC"[i%3])})
	}
	require.Equal(t, films, gradedCells(t, filepath.Join(tables, "films.csv"), "quality"))
	require.Equal(t, readings, gradedCells(t, filepath.Join(tables, "readings.csv"), "reader", "quality"))
	require.NotContains(t, strings.Join(gradedCells(t, filepath.Join(tables, "grades.csv"), "reader")[0], ""), "R2")
}
