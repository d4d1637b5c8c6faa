package main

import (
	"encoding/json"
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
var files = []string{".csv", ".dcm", ".json", ".pdf", ".png"}

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

// wordsOf are the words of literals that are no keys, small.
func wordsOf(written map[string]string) map[string]bool {
	out := map[string]bool{}
	for text := range written {
		if !aKey.MatchString(text) {
			for _, w := range regexp.MustCompile(`[A-Za-z]+`).FindAllString(text, -1) {
				out[strings.ToLower(w)] = true
			}
		}
	}
	return out
}

// A text is said by a key that stands in the code whole; those of warnings and of
// conventions are put together of their code and case, those of numbers of their names.
func TestEveryTextIsSaidAndThere(t *testing.T) {
	written, there, topics := literals(t), map[string]bool{}, map[string]bool{}
	names := wordsOf(written)
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
		if topic == "named" {
			for word := range strings.SplitSeq(strings.TrimPrefix(key, "named."), "-") {
				assert.True(t, names[word], "no number is named as %s says", key)
			}
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
		if slices.Contains([]string{"account", "figure", "paper", "patient", "reader"}, room) && slices.Contains(texts.Keys(), text) {
			said++
			assert.True(t, texts.Printed(text), "%s says %s", file, text)
		}
	}
	require.Greater(t, said, 200)
}

// aValue is a value in the template of a text; conditions hold them as well.
var (
	aHole  = regexp.MustCompile(`\{\{.*?\}\}`)
	aValue = regexp.MustCompile(`\.([A-Z][A-Za-z0-9]*)`)
)

// wanted returns the names of the values in a text.
func wanted(text string) (names []string) {
	for _, hole := range aHole.FindAllString(text, -1) {
		for _, m := range aValue.FindAllStringSubmatch(hole, -1) {
			if !slices.Contains(names, m[1]) {
				names = append(names, m[1])
			}
		}
	}
	return names
}

// given returns the names of the values that a call gives after the key of a text; ok is
// false where they are not written in the call.
func given(args []ast.Expr) (names []string, ok bool) {
	if len(args) == 1 {
		if lit, is := args[0].(*ast.CompositeLit); is {
			args = nil
			for _, e := range lit.Elts {
				pair := e.(*ast.KeyValueExpr)
				args = append(args, pair.Key, pair.Value)
			}
		} else if none, is := args[0].(*ast.Ident); is && none.Name == "nil" {
			args = nil
		}
	}
	for i := 0; i < len(args); i += 2 {
		name, is := args[i].(*ast.BasicLit)
		if !is || i+1 == len(args) {
			return nil, false
		}
		text, err := strconv.Unquote(name.Value)
		if err != nil {
			return nil, false
		}
		names = append(names, text)
	}
	return names, true
}

// saidBy returns the key and the names of the values of a call that says a text; ok is false
// of another call, and where they are not written in it.
func saidBy(n ast.Node) (key string, names []string, ok bool) {
	call, is := n.(*ast.CallExpr)
	if !is || len(call.Args) == 0 {
		return "", nil, false
	}
	lit, is := call.Args[0].(*ast.BasicLit)
	if !is || lit.Kind != token.STRING || !slices.Contains([]string{"say", "Say", "Sentence"}, calleeOf(call)) {
		return "", nil, false
	}
	key, err := strconv.Unquote(lit.Value)
	if err != nil {
		return "", nil, false
	}
	names, ok = given(call.Args[1:])
	return key, names, ok
}

// What a call says is given the values that the text wants, and no other.
func TestTextsAreGivenTheirValues(t *testing.T) {
	data, err := texts.Files.ReadFile("en.json")
	require.NoError(t, err)
	var english map[string]string
	require.NoError(t, json.Unmarshal(data, &english))
	seen := 0
	for _, s := range sources(t) {
		f, err := parser.ParseFile(token.NewFileSet(), filepath.Join("..", s.file), nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			key, names, ok := saidBy(n)
			if text, there := english[key]; ok && there {
				seen++
				wants := wanted(text)
				slices.Sort(wants)
				slices.Sort(names)
				if !slices.Equal(wants, names) {
					t.Errorf("%s gives %s the values %q, which wants %q", s.file, key, names, wants)
				}
			}
			return true
		})
	}
	require.Greater(t, seen, 500)
}
