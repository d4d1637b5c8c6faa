package cli

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The help of every command fits a terminal, and says all that it is written to say.
func TestHelpFitsATerminal(t *testing.T) { inLanguages(t, testHelpFitsATerminal) }

func testHelpFitsATerminal(t *testing.T) {
	for _, c := range commands() {
		var b strings.Builder
		require.NoError(t, help(Env{Stdout: &b}, []string{c.name}))
		for line := range strings.SplitSeq(b.String(), "\n") {
			assert.LessOrEqual(t, width(line), helpWidth, "%s: %s", c.name, line)
		}
		said := strings.Join(strings.Fields(b.String()), " ")
		assert.Contains(t, said, strings.Join(strings.Fields(c.usage), " "))
		assert.Contains(t, said, strings.Join(strings.Fields(pageOf(c.name)), " "))
	}
}

func TestNarrow(t *testing.T) {
	long := strings.Repeat("word ", 20)
	for name, c := range map[string]struct{ text, want string }{
		"what fits stays": {"A line\nand another.\n\n  --a  b\n       c", "A line\nand another.\n\n  --a  b\n       c"},
		"paragraph":       {long + "\nend of it\n\n  row", strings.Repeat("word ", 15) + "word\n" + strings.Repeat("word ", 4) + "end of it\n\n  row"},
		"flag":            {"  --flag X  " + long + "\n            end\n  --next   y", "  --flag X  " + strings.Repeat("word ", 12) + "word\n            " + strings.Repeat("word ", 7) + "end\n  --next   y"},
		"brackets":        {strings.Repeat("x", 70) + " [--flag VALUE] y", strings.Repeat("x", 70) + "\n[--flag VALUE] y"},
		"one word":        {strings.Repeat("x", 90), strings.Repeat("x", 90)},
	} {
		assert.Equal(t, c.want, narrow(c.text), name)
	}
}

// The list of commands is one of two columns: what a command does goes on below where it
// begins.
func TestListOfCommandsIsAligned(t *testing.T) { inLanguages(t, testListOfCommandsIsAligned) }

func testListOfCommandsIsAligned(t *testing.T) {
	var b strings.Builder
	require.NoError(t, help(Env{Stdout: &b}, nil))
	listed, more := 0, 0
	for line := range strings.SplitSeq(b.String(), "\n") {
		require.LessOrEqual(t, width(line), helpWidth, line)
		switch {
		case strings.HasPrefix(line, "  linerwatch "):
			listed++
			if len(line) > listHang {
				require.Equal(t, "  ", line[listHang-2:listHang], line)
				require.NotEqual(t, byte(' '), line[listHang], line)
			}
		case strings.HasPrefix(line, "   "):
			more++
			require.Equal(t, listHang, indent(line), line)
		}
	}
	require.Equal(t, len(commands())+8, listed)
	require.Positive(t, more)
}
