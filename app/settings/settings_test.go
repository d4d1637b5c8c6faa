package settings

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestSettingsSurvive(t *testing.T) {
	path := filepath.Join(t.TempDir(), "deep", "settings.json")
	want := Settings{Reader: "R2", Recent: []string{"a", "b"}, Language: "de", Print: Print{Paper: "A4"}}
	require.NoError(t, want.Save(path))
	require.Equal(t, want, Load(path))
	require.NoError(t, os.WriteFile(path, []byte("{broken"), 0o600))
	require.Equal(t, Settings{}, Load(path))
	left, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	require.Len(t, left, 1, "no temporary file is left")
	require.NoError(t, want.Save(""), "nowhere")
	require.Equal(t, Settings{}, Load(""))
}
