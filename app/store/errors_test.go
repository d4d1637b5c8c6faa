package store

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// Every error of this package, and all that is said to be done when one happens, has its
// text, which says every value.
func TestEveryErrorHasItsNote(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	said := 0
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			name := calledName(call)
			require.NotContains(t, []string{"errors.New", "fmt.Errorf"}, name, "%s makes an error without a note", file)
			at := map[string]int{"named": 0, "refused": 0, "study.NewError": 0, "wrapped": 1}
			if i, ok := at[name]; ok && !call.Ellipsis.IsValid() {
				if code := literal(call.Args[i]); code != "" { // else the code is that of who calls
					saidWhole(t, code, call.Args[i+1:], name == "wrapped")
					said++
				}
			}
			return true
		})
	}
	require.Greater(t, said, 50)
}

// saidWhole says a text with values of the kinds of those that come after their names.
func saidWhole(t *testing.T, code string, args []ast.Expr, why bool) {
	t.Helper()
	values, parts := texts.Values{}, []string{}
	add := func(name string, value any) {
		values[name] = value
		parts = append(parts, fmt.Sprint(value))
	}
	for pair := range slices.Chunk(args, 2) {
		if len(pair) < 2 {
			break // the nil of NewError
		}
		if c, ok := pair[1].(*ast.CallExpr); ok && calledName(c) == "float64" {
			add(literal(pair[0]), float64(70+len(parts)))
		} else {
			add(literal(pair[0]), "word "+literal(pair[0]))
		}
	}
	if why {
		add("Why", "the reason")
	}
	text, err := texts.Try(code, values)
	require.NoError(t, err)
	for _, part := range parts {
		require.Contains(t, text, part, code)
	}
}

// calledName is the name that a function is called by.
func calledName(c *ast.CallExpr) string {
	switch f := c.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		if x, ok := f.X.(*ast.Ident); ok {
			return x.Name + "." + f.Sel.Name
		}
	}
	return ""
}

func literal(e ast.Expr) string {
	if lit, ok := e.(*ast.BasicLit); ok {
		if s, err := strconv.Unquote(lit.Value); err == nil {
			return s
		}
	}
	return ""
}

// What a file was refused for, and what was being done, stand in one line.
func TestFaultSaysWhatWasDone(t *testing.T) {
	db := &DB{path: "/in/s.study"}
	require.NoError(t, db.fault(named("store.check"), nil))
	err := db.fault(named("store.save-films", "N", 1.0), wrapped(study.ErrUnknown, "store.film", "Film", "a.dcm"))
	require.ErrorIs(t, err, study.ErrUnknown)
	require.Equal(t, "film a.dcm: not in the study (s.study: save 1 film)", study.Told(err))
	require.Equal(t, "3 films", strings.TrimPrefix(study.NoteWords(named("store.save-films", "N", 3.0)), "save "))
	conflict := &study.ConflictError{Mine: study.Hip{}, Theirs: study.Hip{}}
	require.Same(t, conflict, db.fault(named("store.check"), conflict))
}
