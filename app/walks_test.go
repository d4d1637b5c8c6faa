package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// names holds every name of the program that DEVELOPERS.md may use: "pkg.Name", and
// "pkg.Type.Name" for methods and fields; tests by their own name.
type names map[string]bool

// named parses the whole module, tests too.
func named(t *testing.T) names {
	t.Helper()
	out := names{}
	require.NoError(t, filepath.WalkDir("..", func(p string, d os.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "testdata" || d.Name() != ".." && strings.HasPrefix(d.Name(), ".")):
			return filepath.SkipDir
		case d.IsDir() || !strings.HasSuffix(p, ".go"):
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		if strings.HasSuffix(p, "_test.go") {
			out.tests(f)
			return nil
		}
		pkg := path.Base(path.Dir(filepath.ToSlash(p)))
		out[pkg] = true
		out.take(pkg, f)
		return nil
	}))
	return out
}

func (n names) tests(f *ast.File) {
	for _, d := range f.Decls {
		if fn, ok := d.(*ast.FuncDecl); ok && fn.Recv == nil {
			n[fn.Name.Name] = true
		}
	}
}

func (n names) take(pkg string, f *ast.File) {
	for _, d := range f.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			n[pkg+"."+receiver(d)+d.Name.Name] = true
		case *ast.GenDecl:
			for _, s := range d.Specs {
				switch s := s.(type) {
				case *ast.TypeSpec:
					n[pkg+"."+s.Name.Name] = true
					n.members(pkg+"."+s.Name.Name, s.Type)
				case *ast.ValueSpec:
					for _, name := range s.Names {
						n[pkg+"."+name.Name] = true
					}
				}
			}
		}
	}
}

// receiver is the type of a method with a dot, or "".
func receiver(d *ast.FuncDecl) string {
	if d.Recv == nil {
		return ""
	}
	of := d.Recv.List[0].Type
	if p, ok := of.(*ast.StarExpr); ok {
		of = p.X
	}
	if id, ok := of.(*ast.Ident); ok {
		return id.Name + "."
	}
	return "" // a type with parameters
}

// members takes the fields of a struct and the methods of an interface.
func (n names) members(of string, typ ast.Expr) {
	var list *ast.FieldList
	switch typ := typ.(type) {
	case *ast.StructType:
		list = typ.Fields
	case *ast.InterfaceType:
		list = typ.Methods
	default:
		return
	}
	for _, f := range list.List {
		for _, name := range f.Names {
			n[of+"."+name.Name] = true
		}
	}
}

var (
	quoted   = regexp.MustCompile("`([^`\n]+)`")
	dotted   = regexp.MustCompile(`^[a-z]\w*(\.[A-Za-z]\w*)+$`)
	testName = regexp.MustCompile(`^Test[A-Z]\w*$`)
	inTree   = regexp.MustCompile(`^(app|measure|dicomio|wearfit|assets|testdata|\.ci)/[\w./]+$`)
	outside  = map[string]bool{"image.Gray16": true, "migrate.go": true, "page.go": true}
)

// missing returns the names, tests and files that text speaks of and that are not there.
func (n names) missing(text string) (out []string) {
	for _, m := range quoted.FindAllStringSubmatch(text, -1) {
		name := m[1]
		switch {
		case outside[name]:
		case inTree.MatchString(name):
			if _, err := os.Stat(filepath.Join("..", name)); err != nil {
				out = append(out, name)
			}
		case (dotted.MatchString(name) || testName.MatchString(name)) && !n[name]:
			out = append(out, name)
		}
	}
	return out
}

// TestDevelopersNamesWhatIsThere checks walks and recipes: each name, test and file in them
// is one of the program.
func TestDevelopersNamesWhatIsThere(t *testing.T) {
	b, err := os.ReadFile(developers)
	require.NoError(t, err)
	n := named(t)
	require.Greater(t, len(quoted.FindAllString(string(b), -1)), 100)
	require.Empty(t, n.missing(string(b)))
	require.Equal(t, []string{"session.Session.Gone", "nowhere.At", "TestNothing", "app/none.go"},
		n.missing("`session.Strip.Add` `session.Session.Gone` `nowhere.At` `study.Store.AddReading` `session.Film.Draft` `TestNothing` `TestArrows` `app/none.go` `app/main.go`"))
}
