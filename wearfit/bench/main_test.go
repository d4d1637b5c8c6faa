package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Few runs: the tables are whole; the judgement itself needs more.
func TestReport(t *testing.T) {
	var b strings.Builder
	_, err := report(&b, 40, 1, false)
	require.NoError(t, err)
	assert.Equal(t, 7*4, strings.Count(b.String(), "  0.03  ")+strings.Count(b.String(), "  0.05  ")+
		strings.Count(b.String(), "  0.10  ")+strings.Count(b.String(), "  0.20  ")-4)
	assert.Contains(t, b.String(), "broken line")
	_, err = report(&b, 0, 1, false)
	require.Error(t, err)
}

// Lines fitted to more noise than the interval is told of are found out.
func TestCoverageFails(t *testing.T) {
	var b strings.Builder
	ok, err := report(&b, 1, 1, false)
	require.NoError(t, err)
	assert.False(t, ok, "one hip a line is 0 or 100 %%, both outside")
}
