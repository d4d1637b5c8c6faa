package report_test

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
)

func TestSaveFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	require.NoError(t, os.WriteFile(path, []byte("before"), 0o600))
	err := report.SaveFile(path, report.Replace, func(w io.Writer) error {
		if _, err := io.WriteString(w, "half"); err != nil {
			return err
		}
		return errors.New("the disk is full")
	})
	require.EqualError(t, err, "the disk is full")
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "before", string(b))
	left, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	require.Len(t, left, 1, "the temporary file is gone")
	after := func(w io.Writer) error {
		_, err := io.WriteString(w, "after")
		return err
	}
	err = report.SaveFile(path, report.KeepOld, after)
	require.ErrorIs(t, err, fs.ErrExist)
	require.EqualError(t, err, "a.txt is not written over: file already exists")
	b, err = os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "before", string(b))
	require.NoError(t, report.SaveFile(path, report.Replace, after))
	b, err = os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "after", string(b))
	next := filepath.Join(filepath.Dir(path), "b.txt")
	require.NoError(t, report.SaveFile(next, report.KeepOld, after))
	b, err = os.ReadFile(next)
	require.NoError(t, err)
	require.Equal(t, "after", string(b))
}
