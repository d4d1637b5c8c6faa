package study

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// said are warnings as they are made, one of each sentence.
var said = []Warning{
	{Code: measure.OutlineMisfit, Values: texts.Values{"Part": "cup", "Off": 0.3}},
	{Code: measure.HeadHidden}, {Code: measure.RingEdgeOn}, {Code: measure.RingPartial}, {Code: measure.SideUnproven},
	{Code: measure.SideContradicts, Case: measure.AskedShape, Values: texts.Values{"Asked": "left", "Body": "right"}},
	{Code: measure.SideContradicts, Case: measure.AskedPlace, Values: texts.Values{"Asked": "left", "Place": "right"}},
	{Code: measure.SideContradicts, Case: measure.PlaceShape, Values: texts.Values{"Place": "left", "Body": "right"}},
	{Code: measure.Magnification, Case: measure.HeadSize, Values: texts.Values{"M": 1.4, "Least": 1., "Most": 1.3}},
	{Code: measure.FilmTurned, Case: measure.DomeBelow}, {Code: measure.FilmTurned, Case: turnedCup, Values: texts.Values{"Degrees": -46., "Side": "right"}},
	{Code: measure.CupTurned, Case: measure.TurnInclination, Values: texts.Values{"Degrees": 4.}},
	{Code: measure.CupTurned, Case: measure.TurnVersion, Values: texts.Values{"Degrees": -4.}},
	WarnTag(Left, Right), WarnOtherPatient("P1", "P2"), {Code: WarnDate}, WarnNoSpacing(), must(WarnMagnification(1.5)), must(WarnFactor(1.4, 1.15, "a tag")), must(WarnFactor(1.15, 1.8, "a tag")), WarnUnstated(true), WarnUnstated(false),
	{Code: WarnFile, Values: Values{"Why": Note{Code: "tag.no-date", Values: Values{"Element": "Study Date", "Value": "x"}}}},
	{Code: WarnNotTaken, Values: Values{"Why": Note{Code: "refusal.no-cup"}}},
	{Code: WarnByHand, Values: Values{"Part": "cup", "Center": 0.1, "Radius": 0.2, "Distance": "before", "Bare": "wire"}},
	{Code: WarnCrossing}, {Code: WarnLine, Case: lineNone}, {Code: WarnLine, Case: lineUnused},
	{Code: WarnBeam, Values: BeamUse{Reason: Note{Code: "beam.no-spacing"}, RingMM: 0.12}.missing()},
}

func must(w Warning, _ bool) Warning { return w }

// asSentence are the codes of warnings that come as a sentence made elsewhere.
var asSentence = []string{WarnProjection, WarnQuality}

// codes returns the values of the constants of a file whose name begins with a prefix;
// those that name one of package measure are read there.
func codes(t *testing.T, file, prefix string) (out []string) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
	require.NoError(t, err)
	ast.Inspect(f, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok || len(spec.Values) != 1 || !strings.HasPrefix(spec.Names[0].Name, prefix) {
			return true
		}
		if lit, ok := spec.Values[0].(*ast.BasicLit); ok && lit.Kind == token.STRING {
			s, err := strconv.Unquote(lit.Value)
			require.NoError(t, err)
			out = append(out, s)
		}
		return true
	})
	return out
}

func TestEveryWarningHasItsSentence(t *testing.T) {
	var heard, keys []string
	for _, w := range said {
		words, err := texts.Try(warningKey(w), spoken(w.Values))
		require.NoError(t, err, "%+v", w)
		require.Equal(t, words, WarningWords(w))
		heard, keys = append(heard, w.Code, w.Case), append(keys, warningKey(w))
	}
	all := append(codes(t, "remarks.go", "Warn"), codes(t, "../../measure/warning.go", "")...)
	require.Greater(t, len(all), 15)
	for _, code := range all {
		require.True(t, slices.Contains(heard, code) || slices.Contains(asSentence, code), "no sentence of %q is looked at", code)
	}
	for _, key := range texts.Keys() {
		if strings.HasPrefix(key, "warning.") {
			require.Contains(t, keys, key, "nobody says it")
		}
	}
	for _, code := range asking {
		_, err := texts.Try("todo."+code, nil)
		require.NoError(t, err)
	}
}

// What is kept in a study says the same when it is read again, and a sentence of an
// older study is shown as it stands.
func TestWarningsAreKeptAsCodeAndValues(t *testing.T) {
	for _, w := range said {
		data, err := json.Marshal(w)
		require.NoError(t, err)
		require.NotContains(t, string(data), `"Text"`)
		var again Warning
		require.NoError(t, json.Unmarshal(data, &again))
		require.Equal(t, w, again)
		require.Equal(t, WarningWords(w), WarningWords(again))
	}
	for _, old := range []string{`{"Code":"magnification","Text":"as it was said"}`, `"as it was said"`} {
		var w Warning
		require.NoError(t, json.Unmarshal([]byte(old), &w))
		require.Equal(t, "as it was said", WarningWords(w))
	}
}

// Package measure and its search make no sentence of a warning or a note.
func TestMeasureMakesNoSentence(t *testing.T) {
	literals := 0
	for _, folder := range []string{"../../measure", "../../measure/find"} {
		files, err := filepath.Glob(folder + "/*.go")
		require.NoError(t, err)
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
			require.NoError(t, err)
			ast.Inspect(f, func(n ast.Node) bool {
				lit, ok := n.(*ast.CompositeLit)
				if !ok || !isNote(lit.Type) {
					return true
				}
				literals++
				for _, e := range lit.Elts {
					kv, ok := e.(*ast.KeyValueExpr)
					require.True(t, ok, file)
					require.NotEqual(t, "Text", kv.Key.(*ast.Ident).Name, file)
				}
				return true
			})
		}
	}
	require.GreaterOrEqual(t, literals, 15)
}

func isNote(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name == "Warning" || e.Name == "Note"
	case *ast.SelectorExpr:
		return e.Sel.Name == "Warning" || e.Sel.Name == "Note"
	}
	return false
}
