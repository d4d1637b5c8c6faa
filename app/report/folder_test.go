package report_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
)

var ours = []string{"a.csv", "b.csv"}

// put writes a folder of one file.
func put(t *testing.T, path, name, text string, over report.Over) error {
	t.Helper()
	f, err := report.NewFolder(path, over, ours)
	if err != nil {
		return err
	}
	defer func() { require.NoError(t, f.Drop()) }()
	w, err := f.Create(name)
	require.NoError(t, err)
	_, err = w.Write([]byte(text))
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return f.Finish(over, ours)
}

func entries(t *testing.T, dir string) (names []string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range list {
		names = append(names, e.Name())
	}
	return names
}

func TestFolderIsReplacedAsAWhole(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "deep", "out")
	require.NoError(t, put(t, out, "a.csv", "1", report.KeepOld))
	err := put(t, out, "b.csv", "2", report.KeepOld)
	require.ErrorIs(t, err, fs.ErrExist)
	require.ErrorContains(t, err, filepath.Join(out, "a.csv"))
	require.Equal(t, []string{"a.csv"}, entries(t, out))

	require.NoError(t, put(t, out, "b.csv", "2", report.Replace))
	require.Equal(t, []string{"b.csv"}, entries(t, out), "of the old nothing is left")
	require.Equal(t, []string{"out"}, entries(t, filepath.Dir(out)), "nor beside it")

	require.NoError(t, os.WriteFile(filepath.Join(out, "thesis.txt"), []byte("mine"), 0o600))
	var foreign *report.ForeignError
	require.ErrorAs(t, put(t, out, "a.csv", "3", report.Replace), &foreign)
	require.Equal(t, filepath.Join(out, "thesis.txt"), foreign.Path)
	require.Equal(t, []string{"b.csv", "thesis.txt"}, entries(t, out))
	require.Equal(t, []string{"out"}, entries(t, filepath.Dir(out)))

	empty := filepath.Join(dir, "empty")
	require.NoError(t, os.Mkdir(empty, 0o700))
	require.NoError(t, put(t, empty, "a.csv", "1", report.KeepOld), "an empty folder holds nothing to write over")

	link := filepath.Join(dir, "link")
	require.NoError(t, os.Symlink(empty, link))
	require.NoError(t, put(t, link, "b.csv", "1", report.Replace))
	require.Equal(t, []string{"b.csv"}, entries(t, empty))
	require.Equal(t, []string{"deep", "empty", "link"}, entries(t, dir))
}

// What comes to the place while the folder is written is not lost.
func TestFolderIsNotPutOverWhatCame(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	f, err := report.NewFolder(out, report.KeepOld, ours)
	require.NoError(t, err)
	require.NoError(t, os.Mkdir(out, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(out, "a.csv"), []byte("theirs"), 0o600))
	require.ErrorIs(t, f.Finish(report.KeepOld, ours), fs.ErrExist)
	require.NoError(t, f.Drop())
	require.Equal(t, []string{"out"}, entries(t, filepath.Dir(out)))
	require.Equal(t, []string{"a.csv"}, entries(t, out))
}
