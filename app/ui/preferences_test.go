package ui

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBrokenPreferencesAreTakenAway(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		kept bool
	}{
		"empty":   {"", false},
		"partial": {`{"fyne:fileDialog`, false},
		"whole":   {`{"fyne:fileDialogViewLayout":1}` + "\n", true},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, appID, "preferences.json")
			require.NoError(t, mendPreferences(dir), "no file is no fault")
			require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
			require.NoError(t, os.WriteFile(path, []byte(c.text), 0o600))
			require.NoError(t, mendPreferences(dir))
			if c.kept {
				require.FileExists(t, path)
			} else {
				require.NoFileExists(t, path)
			}
		})
	}
}
