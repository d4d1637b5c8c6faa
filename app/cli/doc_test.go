package cli

import (
	"go/parser"
	"go/token"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestDocListsTheCommands checks that the package's doc names every command there is.
func TestDocListsTheCommands(t *testing.T) {
	f, err := parser.ParseFile(token.NewFileSet(), "doc.go", nil, parser.ParseComments)
	require.NoError(t, err)
	doc := strings.Join(strings.Fields(f.Doc.Text()), " ")
	require.Contains(t, doc, "with the commands "+commandNames()+".")
}
