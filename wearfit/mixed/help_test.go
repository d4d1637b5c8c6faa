package mixed

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/wearfit"
)

// near compares relatively, or with zero absolutely.
func near(t *testing.T, want, got, rel float64, what string) {
	t.Helper()
	if want == 0 {
		assert.InDelta(t, want, got, rel, what)
		return
	}
	assert.InEpsilon(t, want, got, rel, what)
}

// reference reads testdata/name.
func reference(t *testing.T, name string, v any) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, v))
}

func pair(t *testing.T, want [2]float64, got wearfit.Interval, what string) {
	t.Helper()
	near(t, want[0], got.Lo, 1e-9, what+", lower")
	near(t, want[1], got.Hi, 1e-9, what+", upper")
}

func ones(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = 1
	}
	return v
}

func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 7)) }
