package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const module = "linerwatch/"

// arrows says which packages of the program a package may import, by the
// longest entry that is the package or a folder above it. A package may always
// import those below itself, unless they have an entry of their own.
var arrows = map[string][]string{
	"app":               {"app/archive", "app/cli", "app/ui", "app/store", "app/store/central", "app/settings", "app/source", "app/study"},
	"app/cli":           {"app/archive", "app/batch", "app/findings", "app/roster", "app/tables", "app/study", "app/report", "app/report/account", "app/report/dataset", "app/report/figure", "app/report/paper", "app/report/patient", "app/report/reader", "assets", "assets/texts"},
	"app/ui":            {"app/session", "app/settings", "app/findings", "app/tables", "app/study", "app/report", "app/report/account", "app/report/dataset", "app/report/figure", "app/report/paper", "app/report/patient", "app/report/reader", "app/ui/raster", "assets", "assets/texts"},
	"app/ui/raster":     {}, // pictures, with no window
	"app/session":       {"app/session/jobs", "app/settings", "app/archive", "app/batch", "app/roster", "app/study", "app/source", "dicomio", "measure", "measure/fit", "measure/find", "measure/phantom", "wearfit"},
	"app/session/jobs":  {},
	"app/settings":      {},
	"app/batch":         {"app/roster", "app/study", "app/source", "app/ui/raster", "dicomio", "dicomio/result", "measure", "measure/find", "measure/phantom", "wearfit"},
	"app/tables":        {"app/study", "wearfit"},
	"app/roster":        {"app/study"},
	"app/source":        {"app/study", "dicomio"},
	"app/archive":       {"app/study", "dicomio", "dicomio/web", "dicomio/dimse"},
	"app/store":         {"app/study"},
	"app/store/central": {"app/store", "app/study"}, // a study on a server
	"app/findings":      {"app/study", "assets/texts", "wearfit"},
	"app/report":        {"app/findings", "app/study", "assets/texts"},
	"app/study":         {"measure", "wearfit", "wearfit/mixed", "wearfit/settle", "wearfit/survive", "assets/texts"},
	"dicomio":           {},
	"dicomio/result":    {"dicomio"},
	"dicomio/web":       {"dicomio"},
	"dicomio/dimse":     {"dicomio"},
	"wearfit":           {},
	"wearfit/mixed":     {"wearfit", "wearfit/internal/seek"},
	"wearfit/survive":   {"wearfit"},
	"wearfit/settle":    {"wearfit", "wearfit/internal/seek"},
	"wearfit/bench":     {"wearfit", "wearfit/mixed", "wearfit/settle", "wearfit/survive"},
	"assets":            {},
	"assets/texts":      {},

	"measure":               {},
	"measure/fit":           {"measure"},
	"measure/find":          {"measure", "measure/fit"},
	"measure/phantom":       {"measure"},
	"measure/phantom/bench": {"dicomio", "measure", "measure/find", "measure/phantom", "measure/phantom/chance"}, // opens films as the program does
}

// beyond says which packages may import what is special, by prefix.
var beyond = map[string][]string{
	"fyne.io/":                 {"app/ui"},
	"golang.design/":           {"app/ui"},
	"database/sql":             {"app/store"},
	"modernc.org/sqlite":       {"app/store"},
	"github.com/jackc/":        {"app/store/central"},
	"github.com/riverqueue/":   {"app/store/central"},
	"github.com/suyashkumar/":  {"dicomio"},
	"gonum.org/v1/plot":        {"app/report", "app/ui"},
	"codeberg.org/go-":         {"app/report/figure", "app/report/paper"},
	"github.com/stretchr/":     {"app/store/storetest"}, // tests only
	"net/http":                 {"dicomio/web"},
	"github.com/zalando/":      {"app/archive"},
	"github.com/xuri/":         {"app/roster"},
	"github.com/mattn/go-sqli": nil,
}

// imports of one file that is not a test.
type source struct {
	file    string
	pkg     string // folder below the module
	imports []string
}

// sources parses every file of the module but tests.
func sources(t *testing.T) []source {
	t.Helper()
	var out []source
	err := filepath.WalkDir("..", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); name != ".." && strings.HasPrefix(name, ".") || name == "testdata" {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel := strings.TrimPrefix(filepath.ToSlash(p), "../")
		s := source{file: rel, pkg: path.Dir(rel)}
		for _, i := range f.Imports {
			name, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			s.imports = append(s.imports, name)
		}
		out = append(out, s)
		return nil
	})
	require.NoError(t, err)
	return out
}

// within reports whether pkg is root or below it.
func within(pkg, root string) bool { return pkg == root || strings.HasPrefix(pkg, root+"/") }

// rule returns the longest entry of arrows that pkg is within.
func rule(pkg string) (root string, ok bool) {
	for r := range arrows {
		if within(pkg, r) && len(r) > len(root) {
			root, ok = r, true
		}
	}
	return root, ok
}

// wrong returns why a package may not import name, or "".
func wrong(pkg, name string) string {
	if own, ok := strings.CutPrefix(name, module); ok {
		root, known := rule(pkg)
		switch {
		case !known:
			return "has no rule"
		case slices.Contains(arrows[root], own):
			return ""
		}
		if r, _ := rule(own); r == root && (own == root || root != "app") {
			return ""
		}
		return "may import only " + strings.Join(arrows[root], ", ")
	}
	for prefix, allowed := range beyond {
		if !strings.HasPrefix(name, prefix) {
			continue
		}
		if !slices.ContainsFunc(allowed, func(a string) bool { return within(pkg, a) }) {
			return "is not where " + prefix + " is imported"
		}
	}
	return ""
}

// TestArrows checks that imports run one way.
func TestArrows(t *testing.T) {
	all := sources(t)
	require.Greater(t, len(all), 50, "the whole module is looked at")
	for _, s := range all {
		for _, name := range s.imports {
			if why := wrong(s.pkg, name); why != "" {
				t.Errorf("%s imports %q: package %s %s", s.file, name, s.pkg, why)
			}
		}
	}
}

// TestArrowsCanFail checks the rules themselves.
func TestArrowsCanFail(t *testing.T) {
	for _, c := range []struct {
		name, pkg, imports string
		ok                 bool
	}{
		{"cli prints reports", "app/cli", "linerwatch/app/report", true},
		{"cli does not measure", "app/cli", "linerwatch/measure", false},
		{"cli does not store", "app/cli", "linerwatch/app/store", false},
		{"cli runs what nobody looks at", "app/cli", "linerwatch/app/batch", true},
		{"cli knows no window", "app/cli", "linerwatch/app/session", false},
		{"cli opens no films", "app/cli", "linerwatch/app/source", false},
		{"the window leaves films to its session", "app/ui", "linerwatch/app/batch", false},
		{"a session runs what commands run", "app/session", "linerwatch/app/batch", true},
		{"commands need no session", "app/batch", "linerwatch/app/session", false},
		{"what nobody looks at is not printed", "app/batch", "linerwatch/app/report", false},
		{"a table knows no films", "app/tables", "linerwatch/app/source", false},
		{"a source does not measure", "app/source", "linerwatch/measure", false},
		{"a source reads files", "app/source", "linerwatch/dicomio", true},
		{"report does not read films", "app/report", "linerwatch/dicomio", false},
		{"paper is written in one room", "app/report/paper", "codeberg.org/go-pdf/fpdf", true},
		{"and in no other", "app/report/patient", "codeberg.org/go-pdf/fpdf", false},
		{"session does not report", "app/session", "linerwatch/app/report", false},
		{"a phantom is of measured values", "measure/phantom", "linerwatch/measure", true},
		{"a phantom is not searched", "measure/phantom", "linerwatch/measure/find", false},
		{"but by its bench", "measure/phantom/bench", "linerwatch/measure/find", true},
		{"measure does not know files", "measure", "linerwatch/dicomio", false},
		{"measure does not look at films", "measure", "linerwatch/measure/find", false},
		{"measure does not fit", "measure", "linerwatch/measure/fit", false},
		{"a fit does not look at films", "measure/fit", "linerwatch/measure/find", false},
		{"find fits", "measure/find", "linerwatch/measure/fit", true},
		{"find looks at pixels", "measure/find", "linerwatch/measure/find/internal/film", true},
		{"a study does not look at films", "app/study", "linerwatch/measure/find", false},
		{"the bench opens films", "measure/phantom/bench", "linerwatch/dicomio", true},
		{"results are of files", "dicomio/result", "linerwatch/dicomio", true},
		{"results know no study", "dicomio/result", "linerwatch/app/study", false},
		{"a picture needs no window", "app/batch", "linerwatch/app/ui/raster", true},
		{"nor has it one", "app/batch", "linerwatch/app/ui", false},
		{"a decoder belongs to dicomio", "dicomio", "linerwatch/dicomio/codec/rle", true},
		{"an archive is asked from dicomio/web", "dicomio/web", "net/http", true},
		{"and from nowhere else", "app/archive", "net/http", false},
		{"an archive is asked for films", "app/archive", "linerwatch/dicomio/dimse", true},
		{"a source asks nobody", "app/source", "linerwatch/dicomio/web", false},
		{"main does not measure", "app", "linerwatch/app/session", false},
		{"no window in the session", "app/session", "fyne.io/fyne/v2", false},
		{"widgets are windows", "app/ui/widgets", "fyne.io/fyne/v2/widget", true},
		{"no SQL in the window", "app/ui", "database/sql", false},
		{"SQL in the store", "app/store", "modernc.org/sqlite", true},
		{"a study finds its words", "app/study", "linerwatch/assets/texts", true},
		{"measure has no words", "measure", "linerwatch/assets/texts", false},
		{"a new folder needs a rule", "tools", "linerwatch/measure", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.ok, wrong(c.pkg, c.imports) == "", wrong(c.pkg, c.imports))
		})
	}
}
