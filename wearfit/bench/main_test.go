package main

import (
	"io"
	"math/rand/v2"
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
