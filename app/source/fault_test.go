package source

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/assets/texts"
	"linerwatch/dicomio"
)

// unspoken are calls in package dicomio that make an error without a code: the kinds of
// fault, one that never leaves the package, and why a collimator is not used, which is
// told in a warning.
var unspoken = map[string]int{"fault.go": 2, "walk.go": 1, "field.go": 5}

// Whatever package dicomio refuses has its text, which is that of the error itself.
func TestEveryFaultOfAFilmHasItsNote(t *testing.T) {
	files, err := filepath.Glob("../../dicomio/*.go")
	require.NoError(t, err)
	told := map[string]bool{}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		require.NoError(t, err)
		without := 0
		ast.Inspect(f, func(n ast.Node) bool {
			c, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			switch f := c.Fun.(type) {
			case *ast.Ident:
				if f.Name == "refused" || f.Name == "malformed" || f.Name == "unsupported" {
					if code := literal(c.Args[0]); code != "" { // else that of who calls
						toldAlike(t, code, c.Args[1:])
						told[code] = true
					}
				}
			case *ast.SelectorExpr:
				if name := fmt.Sprint(f.X, ".", f.Sel); name == "errors.New" || name == "fmt.Errorf" {
					without++
				}
			}
			return true
		})
		require.Equal(t, unspoken[filepath.Base(file)], without, file)
	}
	require.Greater(t, len(told), 70)
}

var verb = regexp.MustCompile(`%[.0-9]*[a-z]`)

// toldAlike says a fault with a value for each verb of its format, and compares.
func toldAlike(t *testing.T, code string, args []ast.Expr) {
	t.Helper()
	format, values, said := literal(args[0]), texts.Values{}, []any{}
	verbs := verb.FindAllString(format, -1)
	require.Len(t, args, 1+2*len(verbs), code)
	for i, v := range verbs {
		name := literal(args[1+2*i])
		require.NotContains(t, values, name, code)
		switch v[len(v)-1] {
		case 'd':
			values[name], said = float64(1000001+i), append(said, 1000001+i)
		case 'g':
			values[name], said = 12.345678, append(said, 12.345678)
		default:
			word := fmt.Sprintf("word %q %d", "a", i)
			values[name], said = word, append(said, word)
		}
	}
	text, err := texts.Try(code, values)
	require.NoError(t, err)
	require.Equal(t, fmt.Sprintf(format, said...), text, code)
}

// literal is a string that stands in the code as it is.
func literal(e ast.Expr) string {
	if lit, ok := e.(*ast.BasicLit); ok {
		if s, err := strconv.Unquote(lit.Value); err == nil {
			return s
		}
	}
	return ""
}

// A fault is told by notes within notes: the file, the kind of fault, what it is.
func TestFaultOfAFilmIsTold(t *testing.T) {
	_, err := dicomio.Open("fault_test.go")
	require.ErrorIs(t, err, dicomio.ErrUnsupported)
	require.Equal(t, study.Note{Code: "read.file", Values: study.Values{"File": "fault_test.go",
		"Why": study.Note{Code: "read.unsupported", Values: study.Values{
			"Why": study.Note{Code: "read.foreign", Values: study.Values{}}}}}}, study.NoteOf(err))
	require.Equal(t, "fault_test.go: unsupported: neither DICOM, PNG, TIFF nor JPEG", study.Told(err))
	require.EqualError(t, err, "dicomio: "+study.Told(err))

	_, err = dicomio.Open(t.TempDir() + "/none.dcm")
	require.Equal(t, strings.TrimPrefix(err.Error(), "dicomio: "), study.Told(err), "what the system says stands as it is")
}
