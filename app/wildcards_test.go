package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestWildcards(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	for _, name := range []string{"b.dcm", "a.dcm", "note.txt", "x[1].dcm"} {
		require.NoError(t, os.WriteFile(name, nil, 0o600))
	}
	require.Equal(t, []string{"measure", "a.dcm", "b.dcm", "x[1].dcm", "--head", "28"}, wildcards([]string{"measure", "*.dcm", "--head", "28"}))
	require.Equal(t, []string{filepath.Join(dir, "a.dcm")}, wildcards([]string{filepath.Join(dir, "?.dcm")})[:1])
	require.Equal(t, []string{"none*.dcm", "[", "x[1].dcm", ""}, wildcards([]string{"none*.dcm", "[", "x[1].dcm", ""}))
}
