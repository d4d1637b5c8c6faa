package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/assets/texts"
)

// aKey is the form of a key of a text.
var aKey = regexp.MustCompile(`^([a-z]+(?:-[a-z]+)*)(\.[A-Za-z0-9-]+)+$`)

// files are the extensions of names of files, which look like keys.
var files = []string{".csv", ".dcm", ".json", ".png"}

// literals are the strings written in the code of the program, with a file of each.
func literals(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, s := range sources(t) {
		f, err := parser.ParseFile(token.NewFileSet(), filepath.Join("..", s.file), nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				text, err := strconv.Unquote(lit.Value)
				require.NoError(t, err)
				if text != "" {
					out[text] = s.file
				}
			}
			return true
		})
	}
	return out
}

// A text is said by a key that stands in the code whole; those of warnings and of
// conventions are put together of their code and case.
func TestEveryTextIsSaidAndThere(t *testing.T) {
	written, there, topics := literals(t), map[string]bool{}, map[string]bool{}
	for _, key := range texts.Keys() {
		there[key] = true
		topic, parts, _ := strings.Cut(key, ".")
		if !slices.Contains([]string{"warning", "todo", "convention"}, topic) {
			topics[topic] = true
			parts = ""
		}
		if written[key] != "" {
			continue
		}
		for part := range strings.SplitSeq(parts, ".") {
			assert.NotEmpty(t, written[part], "nobody says %s", key)
		}
	}
	require.Greater(t, len(topics), 10)
	for text, file := range written {
		if m := aKey.FindStringSubmatch(text); m != nil && topics[m[1]] && !slices.Contains(files, filepath.Ext(text)) {
			assert.True(t, there[text], "%s says %s, which has no text", file, text)
		}
	}
}

// What reports for people say is of the topics that every language has.
func TestReportsSayWhatIsPrinted(t *testing.T) {
	said := 0
	for text, file := range literals(t) {
		room := strings.TrimPrefix(filepath.ToSlash(filepath.Dir(file)), "app/report/")
		if slices.Contains([]string{"paper", "patient", "reader"}, room) && slices.Contains(texts.Keys(), text) {
			said++
			assert.True(t, texts.Printed(text), "%s says %s", file, text)
		}
	}
	require.Greater(t, said, 100)
}
