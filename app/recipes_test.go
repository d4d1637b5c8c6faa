package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// levelModel is a model as someone would add it: a file of its own in app/study.
const levelModel = `package study

var levelModel = ModelKind{
	Code: "level", Name: "level", Title: "level", About: "no movement at all",
	Steady: true, Least: 1,
	fit: func(m *Model, h hipFilms) error {
		rate := Quantity{Of: h.hip, Model: m.Name, Name: "rate", Unit: unitRate}
		m.told(rate)
		m.Figures = []Quantity{rate, counted(h.hip, m.Name, "films", len(h.t))}
		m.mean = func(float64) float64 { return h.y[0] }
		return nil
	},
}
`

// TestModelRecipe builds the program with one file more and one line more, and asks
// its commands for the model.
func TestModelRecipe(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	run, dir := built(t, addition{
		file: "study/levelmodel.go", text: levelModel,
		list: "study/modelkinds.go", after: "\tbeddingCurve,\n", line: "\tlevelModel,\n",
	})
	table := filepath.Join(dir, "table.csv")
	require.NoError(t, os.WriteFile(table, []byte("hip,years,penetration_mm\nA,1,0.1\nA,2,0.25\nA,3,0.3\nA,4,0.45\nA,5,0.5\n"), 0o600))
	require.Contains(t, run("fit", "--model", "level", "--format", "csv", table), "A,level,films,,5")
	require.Contains(t, run("fit", "--model", "all", "--format", "csv", table), "A,level,rate,mm/year,0")
	require.Contains(t, run("fit", "--model", "curve", table), "it is line, stick, exp, level or all")
	require.Contains(t, strings.Join(strings.Fields(run("help", "fit")), " "), "level: no movement at all; all: every model")
}

// wallSource is a source as someone would add it: a file of its own in app/source.
const wallSource = `package source

import (
	"image"
	"strings"

	"linerwatch/dicomio"
)

// wall has films that are no files.
type wall struct{}

func (wall) Place(name string) (string, bool) { return name, strings.HasPrefix(name, "wall:") }

func (wall) List(string) ([]string, error) { return []string{"wall:2", "wall:1"}, nil }

func (wall) Open(film string, _ int) (*dicomio.Film, error) {
	img := image.NewGray16(image.Rect(0, 0, 40, 30))
	img.Pix[0] = film[len(film)-1]
	return &dicomio.Film{Path: film, SHA256: film, Format: "DICOM", Pixels: img, Bits: 16, Photometric: "MONOCHROME2", PatientCode: "W"}, nil
}
`

// TestSourceRecipe builds the program with one file more and one line more, and gives
// its commands a name that is no path.
func TestSourceRecipe(t *testing.T) {
	run, _ := built(t, addition{
		file: "source/wall.go", text: wallSource,
		list: "source/source.go", after: "\tDirectory{},\n", line: "\twall{},\n",
	})
	facts := run("film", "--format", "csv", "wall:all")
	require.Contains(t, facts, "wall:2")
	require.Contains(t, facts, "wall:1")
	require.Less(t, strings.Index(facts, "wall:2"), strings.Index(facts, "wall:1"), "in the order of the source")
	require.NotContains(t, facts, "no such file")
	measured := run("measure", "--head-mm", "28", "--format", "csv", "wall:all")
	require.Contains(t, measured, "wall:1")
	require.NotContains(t, measured, "no such file")
	require.Contains(t, run("film", "wall"), "no such file or directory", "which is a path")
}

// countCommand is a command as someone would add it: a file of its own in app/cli.
const countCommand = `package cli

import (
	"context"
	"fmt"
)

var countCommand = command{
	name: "count", usage: "FILM...", about: "count what is named",
	run: func(_ context.Context, c *call) error {
		if err := c.parse(); err != nil {
			return err
		}
		_, err := fmt.Fprintln(c.Stdout, len(c.films))
		return err
	},
}
`

// TestCommandRecipe builds the program with one file more and one line more, and runs
// the command.
func TestCommandRecipe(t *testing.T) {
	run, _ := built(t, addition{
		file: "cli/count.go", text: countCommand,
		list: "cli/cli.go", after: "\t\tdemoCommand,\n", line: "\t\tcountCommand,\n",
	})
	require.Equal(t, "3\n", run("count", "a", "b", "c"))
	require.Contains(t, run("help"), "count what is named")
	require.Contains(t, run("help", "count"), "Count what is named.")
	require.Contains(t, run("count", "--bad"), "no flag --bad; try: linerwatch help count")
}

// addition is a file more, and a line more in a list.
type addition struct{ file, text, list, after, line string }

// built builds the program with an addition. It returns what runs it, and a folder.
func built(t *testing.T, a addition) (run func(args ...string) string, dir string) {
	t.Helper()
	if testing.Short() {
		t.Skip("builds the program")
	}
	dir = t.TempDir()
	list, err := os.ReadFile(a.list)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(string(list), a.after))
	replaced := map[string]string{}
	for name, text := range map[string]string{
		a.list: strings.Replace(string(list), a.after, a.after+a.line, 1),
		a.file: a.text,
	} {
		own, err := filepath.Abs(name)
		require.NoError(t, err)
		replaced[own] = filepath.Join(dir, filepath.Base(name))
		require.NoError(t, os.WriteFile(replaced[own], []byte(text), 0o600))
	}
	overlay, err := json.Marshal(map[string]any{"Replace": replaced})
	require.NoError(t, err)
	path := filepath.Join(dir, "overlay.json")
	require.NoError(t, os.WriteFile(path, overlay, 0o600))
	program := filepath.Join(dir, "linerwatch")
	said, err := exec.Command("go", "build", "-tags", "headless", "-overlay", path, "-o", program, ".").CombinedOutput()
	require.NoError(t, err, string(said))
	return func(args ...string) string {
		out, _ := exec.Command(program, args...).CombinedOutput() // which says what is wrong
		return string(out)
	}, dir
}
