package measure_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
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

type planeCircle struct{ XC, YC, R float64 }

func assertCircle(t *testing.T, want planeCircle, got measure.Circle, tol float64) {
	t.Helper()
	assert.InDelta(t, want.XC, got.X, tol)
	assert.InDelta(t, want.YC, got.Y, tol)
	assert.InDelta(t, want.R, got.R, tol)
}

type planeEllipse struct {
	XC, YC, A, B, Angle float64
}

func assertEllipse(t *testing.T, want planeEllipse, got measure.Ellipse, tol float64) {
	t.Helper()
	tol *= want.A
	assert.InDelta(t, want.XC, got.X, tol)
	assert.InDelta(t, want.YC, got.Y, tol)
	assert.InDelta(t, want.A, got.A, tol)
	assert.InDelta(t, want.B, got.B, tol)
	turn := math.Remainder(want.Angle-got.Angle, 180) * math.Pi / 180 * (want.A - want.B)
	assert.InDelta(t, 0, turn, tol, "turn of %g against %g", got.Angle, want.Angle)
}
