package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// spoken are the rooms all of whose sentences are texts.
var spoken = []string{"app/cli", "app/session", "app/session/jobs", "app/ui", "app/ui/raster", "app/ui/widgets"}

// unmoved are the files whose sentences are still written in code.
var unmoved = []string{"app/ui/hippage.go"}

// A person reads what has two words beside each other, or one with a capital; what a format
// fills in is no word.
var (
	aSentence = regexp.MustCompile(`\pL{2,}[ ,;:]+\pL|\b\p{Lu}\p{Ll}+`)
	aFormat   = regexp.MustCompile(`%[-+ #0]*[0-9.*]*[a-zA-Z]`)
	// What is typed is the same in every language: commands, flags with what they take, and
	// capitals for what is put there.
	aCommand = regexp.MustCompile(`\blinerwatch:?(?: (?:help|report|results|study|version)\b(?: [a-z]+)?)?:?|^study [a-z]+:?|--[a-z-]+(?:[ =][a-z0-9|-]+)?|\b[A-Z]{2,}\b(?:\.[a-z]+)?|\b[A-Z]\b`)
)

// unspoken are literals that look like sentences, and are none.
var unspoken = map[string]string{
	"Linerwatch":              "the program's name",
	"Linerwatch ":             "the same, before its version",
	"Liberation":              "a typeface",
	"Sans":                    "a typeface",
	"Letter":                  "a size of paper",
	"/Volumes":                "a folder of the system",
	"no edge":                 "a reason as studies keep it",
	"off the film":            "a reason as studies keep it",
	"other outline":           "a reason as studies keep it",
	"left out by the reader":  "a reason as studies keep it",
	"two studies were joined": "a reason as studies keep it",
	"a film or study failed":  "told by no one: what failed was said before",

	"flag provided but not defined: -": "words of package flag, which are looked for",
	"flag needs an argument: -":        "the same",
	"invalid boolean value ":           "the same",
	"invalid value ":                   "the same",
	" for flag -":                      "the same",
}

// sayers are the calls that take the key of a text and the names of its values.
var sayers = []string{"say", "Say", "Sentence", "NewError", "WrapError", "panic"}

// unread marks the literals below a node that name values, fields or mistakes of a programmer.
func unread(n ast.Node, known map[ast.Node]bool) {
	switch n := n.(type) {
	case *ast.ImportSpec:
		known[n.Path] = true
	case *ast.Field:
		known[n.Tag] = true
	case *ast.KeyValueExpr:
		known[n.Key] = true
	case *ast.IndexExpr:
		known[n.Index] = true
	case *ast.CallExpr:
		if !slices.Contains(sayers, calleeOf(n)) {
			return
		}
		for i, arg := range n.Args {
			known[arg] = known[arg] || i == 0 && calleeOf(n) == "panic" || i%2 == 1 && i+1 < len(n.Args)
		}
	}
}

// sentences returns the literals of a file that a person would read, with their places.
func sentences(set *token.FileSet, f *ast.File) (found []string) {
	known := map[ast.Node]bool{}
	ast.Inspect(f, func(n ast.Node) bool {
		unread(n, known)
		lit, ok := n.(*ast.BasicLit)
		if !ok || lit.Kind != token.STRING || known[lit] {
			return true
		}
		text, err := strconv.Unquote(lit.Value)
		if err != nil || aKey.MatchString(text) || unspoken[text] != "" || !aSentence.MatchString(aCommand.ReplaceAllString(aFormat.ReplaceAllString(text, ""), "")) {
			return true
		}
		found = append(found, fmt.Sprintf("%d: %q", set.Position(lit.Pos()).Line, text))
		return true
	})
	return found
}

// What a person reads in the window is said by a text, in the language of the program.
func TestSentencesAreTexts(t *testing.T) {
	rooms := map[string]bool{}
	for _, s := range sources(t) {
		room := s.pkg
		if !slices.Contains(spoken, room) || slices.Contains(unmoved, s.file) {
			continue
		}
		rooms[room] = true
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, filepath.Join("..", s.file), nil, 0)
		require.NoError(t, err)
		for _, found := range sentences(set, f) {
			t.Errorf("%s:%s is read by people: make it a text", s.file, found)
		}
	}
	require.Len(t, rooms, len(spoken))
}

// What is told from a sentence: values' names, keys, mistakes of a programmer.
func TestSentencesAreTold(t *testing.T) {
	for code, want := range map[string]int{
		`say("Accept reading")`:                     1,
		`f("Hip")`:                                  1,
		`f("linerwatch archive lists them all")`:    1,
		`f("name one: --archive NAME")`:             1,
		`f("linerwatch study list FILE --by CODE")`: 0,
		`f("head, cup")`:                            1,
		`f("%d films left" + "over")`:               1,
		`w.Say("%s", say("a.key", "Why", "Gone"))`:  1,
		`w.Say("%s", say("a.key", "Why", "gone"))`:  0,
		`study.Values{"Part": "head"}`:              0,
		`v["Part"] + "%.1f mm"`:                     0,
		`panic("ui: no such key")`:                  0,
		`f("Linerwatch", "a.key", "head", "%d %s")`: 0,
	} {
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, "a.go", "package a\n\nvar x = "+code, 0)
		require.NoError(t, err, code)
		require.Len(t, sentences(set, f), want, code)
	}
}

// calleeOf returns the last word of what is called.
func calleeOf(call *ast.CallExpr) string {
	switch f := call.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}
