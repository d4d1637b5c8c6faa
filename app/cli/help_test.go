package cli

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The help of a verb is that verb's, and no other's.
func TestHelpOfAVerb(t *testing.T) { inLanguages(t, testHelpOfAVerb) }

func testHelpOfAVerb(t *testing.T) {
	for verb := range studyVerbs() {
		var b strings.Builder
		require.NoError(t, help(Env{Stdout: &b}, []string{"study", verb}))
		require.True(t, strings.HasPrefix(b.String(), "linerwatch study "+verb+" F"), b.String())
		for other := range studyVerbs() {
			require.Equal(t, other == verb, strings.Contains("\n"+strings.ReplaceAll(b.String(), "linerwatch study", "\nstudy"), "\nstudy "+other+" F"), "%s in %s", other, verb)
		}
	}
}
