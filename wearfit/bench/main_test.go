package main

import (
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Few runs: the tables are whole; the judgement itself needs more.
func TestReport(t *testing.T) {
	var b strings.Builder
	_, err := report(&b, 9, 1, false)
	require.NoError(t, err)
	assert.Equal(t, 5, strings.Count(b.String(), "\n10 films, errors")+strings.Count(b.String(), "10 films, time constant 2 years"))
	assert.Contains(t, b.String(), "broken line")
	_, err = report(&b, 0, 1, false)
	require.Error(t, err)
}

// Intervals told of less error than there is are found out, and those told of all are not.
func TestCoverageFails(t *testing.T) {
	for scatter, want := range map[float64]bool{0: true, 0.2: false} {
		e := errorsOf{"", 0.05, scatter, func(*rand.Rand) float64 { return 0.05 }}
		h, err := steady(rand.New(rand.NewPCG(3, 1)), e, 2, 400, 0)
		require.NoError(t, err)
		ok, err := h.write(io.Discard, true)
		require.NoError(t, err)
		assert.Equal(t, want, ok, "two films that scatter by %g mm", scatter)
	}
}

// Two hips of a patient that fail alike have to be told from independent ones.
func TestLinerWorld(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 9))
	w := linerWorld{patients: 3000, hazard: 0.05, deaths: 1e-9, stable: 0.5}
	drawn := w.draw(r)
	both, one, n := 0.0, 0.0, 0.0
	for i := 1; i < len(drawn); i++ {
		a, b := drawn[i-1], drawn[i]
		if a.Patient != b.Patient {
			continue
		}
		n++
		x, y := a.Event == 1 && a.Years < 5, b.Event == 1 && b.Years < 5
		if x && y {
			both++
		}
		if x {
			one++
		}
	}
	alone := -math.Expm1(-0.05 * 5)
	assert.InDelta(t, alone, one/n, 0.03, "on average the hazard is as stated")
	// P(both last) = exp(-(2 (h t)^(1/a))^a), a the index.
	pair := math.Exp(-math.Pow(2, 0.5) * 0.25)
	assert.InDelta(t, 2*alone-(1-pair), both/n, 0.03)
}

func TestLinerReport(t *testing.T) {
	var b strings.Builder
	require.NoError(t, linerCoverage(&b, 3, 1))
	assert.Equal(t, 4+12, strings.Count(b.String(), "\n"))
	out := filepath.Join(t.TempDir(), "liners.csv")
	require.NoError(t, linerTable(20, 1, out))
	table, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(table), "hip,patient,pe,rate,years,event\n"))
	require.Error(t, linerTable(20, 1, filepath.Join(out, "nowhere")))
}

// Few runs, as above.
func TestReaders(t *testing.T) {
	var b strings.Builder
	_, err := readers(&b, 3, 1)
	require.NoError(t, err)
	for _, s := range readingStudies {
		assert.Contains(t, b.String(), s.name)
	}
	assert.Contains(t, b.String(), "limit of agreement")
	ok, err := readers(&b, 1, 1)
	require.NoError(t, err)
	assert.False(t, ok, "of one study 0 or 100 %%")
}

// Few runs of the parts for mixed models: every line is there and every figure a share.
func TestMixedParts(t *testing.T) {
	for _, c := range []struct {
		run   func(w io.Writer, runs int, seed uint64) error
		lines int
	}{{shrinkage, 2 + 5*4}, {sizes, 2 + 4}, {robustness, 2 + 5*2}} {
		var b strings.Builder
		require.NoError(t, c.run(&b, 2, 1))
		assert.Equal(t, c.lines, strings.Count(b.String(), "\n"))
		assert.NotContains(t, b.String(), "NaN")
	}
	table := filepath.Join(t.TempDir(), "readings.csv")
	var b strings.Builder
	require.NoError(t, erring(&b, 1, table))
	for _, model := range []string{"plain", "film", "patient", "class", "known", "known_ml", "all"} {
		assert.Contains(t, b.String(), model+",loglik,")
	}
	require.Error(t, erring(&b, 1, t.TempDir()))
}

// Few hips: the table of the model of all films is whole, and its judgement needs
// more.
func TestSettling(t *testing.T) {
	var b strings.Builder
	ok, err := settling(&b, 1, 1, 5, 3)
	require.NoError(t, err)
	assert.False(t, ok, "five hips are 20 %% each")
	assert.Equal(t, 1, strings.Count(b.String(), "\n    5     4 "))
}
