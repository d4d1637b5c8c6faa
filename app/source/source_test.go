package source

import (
	"bytes"
	"image"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// written puts the films of a disc and its DICOMDIR into a folder. The DICOMDIR is that of
// dicomio's tests and lists FILMS\A2 before FILMS\A1.
func written(t *testing.T, dir string) {
	t.Helper()
	b, err := os.ReadFile("../../dicomio/testdata/dcmtk.dicomdir")
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "FILMS"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "DICOMDIR"), b, 0o600))
	for _, name := range []string{"A1", "A2", "B1"} {
		require.NoError(t, dicomio.WriteFile(filepath.Join(dir, "FILMS", name), &dicomio.Film{
			Pixels: image.NewGray16(image.Rect(0, 0, 4, 3)), Bits: 12, Photometric: "MONOCHROME2", PatientCode: name,
			Geometry: dicomio.Geometry{Imager: [2]float64{0.15, 0.15}},
		}))
	}
}

// Each name is of one source, and lists its films in that source's order.
func TestSources(t *testing.T) {
	dir := t.TempDir()
	written(t, dir)
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "other", "DICOMDIR"), 0o700))
	t.Chdir(dir)
	for _, c := range []struct {
		name  string
		films []string
		fault string
	}{
		{name: "FILMS", films: []string{"FILMS/A1", "FILMS/A2", "FILMS/B1"}},
		{name: "FILMS/B1", films: []string{"FILMS/B1"}},
		{name: "DICOMDIR", films: []string{"FILMS/A2", "FILMS/A1"}},
		{name: "./DICOMDIR", films: []string{"FILMS/A2", "FILMS/A1"}},
		{name: filepath.Join(dir, "FILMS"), films: []string{
			filepath.Join(dir, "FILMS/A1"), filepath.Join(dir, "FILMS/A2"), filepath.Join(dir, "FILMS/B1")}},
		{name: "other/DICOMDIR", fault: "no films in this folder"},
		{name: "none/DICOMDIR", fault: "no such file or directory"},
		{name: "none", fault: "no such file or directory"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var films []string
			for _, f := range Expand([]string{c.name}) {
				if f.Fault.IsZero() {
					films = append(films, f.Path)
					continue
				}
				require.Equal(t, []string{c.name, c.fault}, []string{f.Path, study.NoteWords(f.Fault)})
			}
			require.Equal(t, c.films, films)
			for _, f := range c.films {
				film, err := Frame(f, 1, time.Now())
				require.NoError(t, err)
				require.Equal(t, filepath.Base(f), film.PatientCode)
				require.Equal(t, film.Path, f)
			}
			abs, err := filepath.Abs(c.name)
			require.NoError(t, err)
			require.Equal(t, abs, Whole(c.name))
		})
	}
	_, err := Open("DICOMDIR", time.Now())
	require.ErrorContains(t, err, "a DICOMDIR, not a film")
	_, ok := sources[len(sources)-1].Place("")
	require.True(t, ok, "the last source has every name")
}

// asCT makes the film in a file a CT slice by its SOP class.
func asCT(t *testing.T, path string) {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	from, to := []byte("1.2.840.10008.5.1.4.1.1.1.1\x00"), []byte("1.2.840.10008.5.1.4.1.1.2\x00\x00\x00")
	require.Equal(t, 2, bytes.Count(b, from))
	require.NoError(t, os.WriteFile(path, bytes.ReplaceAll(b, from, to), 0o600))
}

// What is no film is counted by kind, from a folder and from a DICOMDIR; what is named
// itself is opened.
func TestSortTellsWhatIsPassedOver(t *testing.T) {
	dir := t.TempDir()
	written(t, dir)
	asCT(t, filepath.Join(dir, "FILMS/A1"))
	for _, name := range []string{filepath.Join(dir, "FILMS"), filepath.Join(dir, "DICOMDIR")} {
		films, passed := Sort([]string{name, filepath.Join(dir, "FILMS/A1")})
		require.Equal(t, filepath.Join(dir, "FILMS/A1"), films[len(films)-1].Path)
		for _, f := range films[:len(films)-1] {
			require.NotEqual(t, "A1", filepath.Base(f.Path))
		}
		require.Len(t, passed, 1)
		require.Equal(t, "1 CT slice", study.NoteWords(passed[0]))
	}
}
