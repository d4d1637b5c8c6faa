package report_test

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
)

func TestSaveFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	require.NoError(t, os.WriteFile(path, []byte("before"), 0o600))
	err := report.SaveFile(path, func(w io.Writer) error {
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
	require.NoError(t, report.SaveFile(path, func(w io.Writer) error {
		_, err := io.WriteString(w, "after")
		return err
	}))
	b, err = os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "after", string(b))
}
