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
	t.Setenv("LC_ALL", "de_DE.UTF-8")
	t.Setenv("LANGUAGE", "de")
	require.NoError(t, addTexts())
	require.Equal(t, "Abbrechen", lang.L("Cancel"), "the toolkit has German words")
	require.NoError(t, speak())
	require.Equal(t, "Cancel", lang.L("Cancel"), "the program has none")
	require.Equal(t, texts.English, texts.Use("de"))
}
