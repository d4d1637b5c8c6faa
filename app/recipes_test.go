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
	Code: "level", Name: "level", About: "no movement at all",
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
	dir := t.TempDir()
	list, err := os.ReadFile("study/modelkinds.go")
	require.NoError(t, err)
	const before = "\tbeddingCurve,\n"
	require.Equal(t, 1, strings.Count(string(list), before))
	replaced := map[string]string{}
	for name, text := range map[string]string{
		"study/modelkinds.go": strings.Replace(string(list), before, before+"\tlevelModel,\n", 1),
		"study/levelmodel.go": levelModel,
	} {
		own, err := filepath.Abs(name)
		require.NoError(t, err)
		replaced[own] = filepath.Join(dir, filepath.Base(name))
		require.NoError(t, os.WriteFile(replaced[own], []byte(text), 0o600))
	}
	overlay, err := json.Marshal(map[string]any{"Replace": replaced})
	require.NoError(t, err)
	write := func(name string, text []byte) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, text, 0o600))
		return path
	}
	program := filepath.Join(dir, "linerwatch")
	build := exec.Command("go", "build", "-tags", "headless", "-overlay", write("overlay.json", overlay), "-o", program, ".")
	said, err := build.CombinedOutput()
	require.NoError(t, err, string(said))

	run := func(args ...string) string {
		out, _ := exec.Command(program, args...).CombinedOutput()
		return string(out)
	}
	table := write("table.csv", []byte("hip,years,penetration_mm\nA,1,0.1\nA,2,0.25\nA,3,0.3\nA,4,0.45\nA,5,0.5\n"))
	require.Contains(t, run("fit", "--model", "level", "--format", "csv", table), "A,level,films,,5")
	require.Contains(t, run("fit", "--model", "all", "--format", "csv", table), "A,level,rate,mm/year,0")
	require.Contains(t, run("fit", "--model", "curve", table), "it is line, stick, exp, level or all")
	require.Contains(t, strings.Join(strings.Fields(run("help", "fit")), " "), "level: no movement at all; all: every model")
}
