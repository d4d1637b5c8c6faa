package fit_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func loadJSON(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, into))
}

// readAll returns the records of a table under testdata.
func readAll(t *testing.T, name string) [][]string {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	return all
}

func assertCov(t *testing.T, want, got [3][3]float64, relative float64) {
	t.Helper()
	for i := range want {
		for j := range want[i] {
			size := math.Sqrt(want[i][i] * want[j][j])
			assert.InDelta(t, want[i][j], got[i][j], relative*size, "covariance %d, %d", i, j)
		}
	}
}
