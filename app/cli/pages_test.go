package cli

import (
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/assets"
	"linerwatch/assets/texts"
)

// inLanguages runs a test in each language that the program speaks.
func inLanguages(t *testing.T, test func(t *testing.T)) {
	t.Cleanup(func() { texts.Use(texts.English) })
	for _, language := range texts.Offered() {
		texts.Use(language)
		t.Run(language, test)
	}
}

// typed is what is typed as it stands, in any language: flags, and the words that begin what is
// told of a verb.
var typed = regexp.MustCompile(`(?m)^study [a-z]+ [A-Z]\w*|--[a-z]+(?:-[a-z]+)*|linerwatch [a-z]+|\{\{.*?\}\}`)

// Every language has all pages, and each names the same commands, verbs and flags.
func TestPagesAreWhole(t *testing.T) {
	english, err := fs.Glob(assets.Help, "help/"+texts.English+"/*.txt")
	require.NoError(t, err)
	require.Greater(t, len(english), len(commands()))
	for _, c := range commands() {
		require.NotEmpty(t, page(c.name), "assets/help/en/%s.txt", c.name)
	}
	namedIn := func(path string) []string {
		text, err := assets.Help.ReadFile(path)
		require.NoError(t, err)
		names := typed.FindAllString(string(text), -1)
		slices.Sort(names)
		return slices.Compact(names)
	}
	for _, language := range texts.Offered() {
		pages, err := fs.Glob(assets.Help, "help/"+language+"/*.txt")
		require.NoError(t, err)
		require.Len(t, pages, len(english), language)
		for _, path := range english {
			other := strings.Replace(path, "/"+texts.English+"/", "/"+language+"/", 1)
			assert.Equal(t, namedIn(path), namedIn(other), other)
		}
	}
}
