package ui

import (
	"testing"

	"fyne.io/fyne/v2/lang"
	"github.com/stretchr/testify/require"

	"linerwatch/assets/texts"
)

func TestToolkitSaysWhatCommandsSay(t *testing.T) {
	require.NoError(t, addTexts())
	for key, v := range map[string]texts.Values{
		"warning.outline-misfit":       {"Part": "head", "Off": 0.31},
		"warning.side-contradicts.tag": {"Tag": "left", "Measured": "right"},
		"todo.ring-partial":            nil,
	} {
		want, err := texts.Try(key, v)
		require.NoError(t, err)
		require.Equal(t, want, lang.X(key, "not there", v))
	}
}

// The toolkit's own words are in the language that the program speaks.
func TestToolkitSpeaksAsTheProgram(t *testing.T) {
	t.Cleanup(func() {
		texts.Use(texts.English)
		require.NoError(t, speakToo())
	})
	t.Setenv("LC_ALL", "de_DE.UTF-8")
	t.Setenv("LANGUAGE", "fr")
	for _, c := range []struct{ code, cancel string }{{"de", "Abbrechen"}, {texts.English, "Cancel"}, {"de", "Abbrechen"}} {
		texts.Use(c.code)
		require.NoError(t, speakToo())
		require.Equal(t, c.cancel, lang.L("Cancel"))
	}
}
