package source

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/assets/texts"
	"linerwatch/dicomio"
)

// unspoken are calls in package dicomio and its decoders that make an error without a code:
// the kinds of fault, one that never leaves the package, and the names of decoders, which
// stand before a fault that has one; and mistakes of a programmer.
var unspoken = map[string]int{"colour.go": 1, "fault.go": 2, "walk.go": 1, "codec.go": 2, "object.go": 1, "web/find.go": 1, "dimse/get.go": 1,
	"jpeg/decode.go": 1, "jpeg2000/decode.go": 1, "jpegls/decode.go": 1, "lossless/decode.go": 1, "rle/decode.go": 1}

// makes are the functions that make a fault or a warning of a code, a format and values.
var makes = []string{"refused", "malformed", "unsupported", "warn", "Malformed", "Unsupported", "Refused"}

// Whatever package dicomio and its decoders refuse or warn of has its text, which is that of
// the fault itself.
func TestEveryFaultOfAFilmHasItsNote(t *testing.T) {
	var files []string
	for _, folder := range []string{"", "codec/", "codec/*/", "codec/internal/t81/", "web/", "dimse/"} {
		list, err := filepath.Glob("../../dicomio/" + folder + "*.go")
		require.NoError(t, err)
		files = append(files, list...)
	}
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
			name := ""
			switch f := c.Fun.(type) {
			case *ast.Ident:
				name = f.Name
			case *ast.SelectorExpr:
				if name = f.Sel.Name; fmt.Sprint(f.X) == "errors" && name == "New" || name == "Errorf" {
					without++
				}
			}
			if slices.Contains(makes, name) {
				if code := literal(c.Args[0]); code != "" { // else that of who calls
					toldAlike(t, code, c.Args[1:])
					told[code] = true
				}
			}
			return true
		})
		name := strings.TrimPrefix(filepath.ToSlash(file), "../../dicomio/")
		require.Equal(t, unspoken[strings.TrimPrefix(name, "codec/")], without, name)
	}
	require.Greater(t, len(told), 230)
}

var verb = regexp.MustCompile(`%[+.0-9]*[a-z]`)

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
		case 'g', 'f':
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
	require.Equal(t, "fault_test.go: unsupported: neither DICOM, PNG, TIFF, JPEG, JPEG 2000 nor BMP", study.Told(err))
	require.EqualError(t, err, "dicomio: "+study.Told(err))

	_, err = dicomio.Open(t.TempDir() + "/none.dcm")
	require.Equal(t, strings.TrimPrefix(err.Error(), "dicomio: "), study.Told(err), "what the system says stands as it is")
}
