package ui

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Results are written by the reader's own act, after a plain sentence of what they are, and
// each film that has none is told with its reason. The films here are files of no kind.
func TestResultsAreAskedFor(t *testing.T) {
	dir := t.TempDir()
	d := reading(t, dir, "T1", series, nil)
	require.NoError(t, d.s.SetReader("R1"))
	require.NoError(t, d.create(filepath.Join(dir, "s.linerwatch")))
	d.acceptAs("R1", 0, 2)
	d.turn(d.placeOf("Hip"))
	d.press("Write results …")
	require.Contains(t, shownText(d), "They carry the name, birth date and study that the film's file has")
	require.Contains(t, shownText(d), "2 of 4 films have such a reading")
	require.Contains(t, shownText(d), "Nothing is sent anywhere, and no file is overwritten.")
	folder := onScreen[*field](d.win)[0]
	require.Equal(t, filepath.Join(dir, "s-results"), folder.Text)

	folder.SetText(filepath.Join(dir, "T1"))
	d.press("Write results")
	d.drain()
	require.Contains(t, shownText(d), "is the folder of the original")
	folder.SetText("  ")
	d.press("Write results")
	require.Contains(t, shownText(d), "Not written: name a folder.")

	folder.SetText(filepath.Join(dir, "s-results"))
	d.press("Write results")
	d.drain()
	require.Contains(t, shownText(d), "results of 0 films.")
	require.Contains(t, shownText(d), series[0]+" – not written: unsupported: neither DICOM, PNG, TIFF, JPEG, JPEG 2000 nor BMP")
	require.Contains(t, shownText(d), series[1]+" – not written: no reading counts")
	files, err := os.ReadDir(filepath.Join(dir, "s-results"))
	require.NoError(t, err)
	require.Empty(t, files)
}
