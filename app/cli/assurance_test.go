package cli

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
)

// What the page names is there: commands, and what the command study does.
func TestAssuranceNamesCommands(t *testing.T) { inLanguages(t, testAssuranceNamesCommands) }

func testAssuranceNamesCommands(t *testing.T) {
	named := regexp.MustCompile("`linerwatch ([a-z]+)( [a-z]+)?").FindAllStringSubmatch(page(assuranceTopic), -1)
	require.Greater(t, len(named), 10)
	for _, m := range named {
		c, ok := find(m[1])
		require.True(t, ok, m[0])
		if c.name == studyCommand.name {
			require.Contains(t, studyVerbs(), m[2][1:], m[0])
		}
	}
}
