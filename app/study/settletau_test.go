package study

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A time constant that the films do not tell has no factor either, and it is said.
func TestTauUntold(t *testing.T) {
	rows := beddedRows(8, 3, 4, 5, 8, 10)
	for i := range rows {
		rows[i].Categories = []string{[]string{"a", "b"}[int(rows[i].Hip[0])%2]}
	}
	o := CohortOptions{Categories: []string{"make"}, OnTau: []string{"make"}}
	list, err := Settle(rows, o)
	require.NoError(t, err)
	q, ok := quantityOf(list, "", "time constant by make, b over a")
	require.True(t, ok)
	assert.False(t, q.Exists())
	assert.Equal(t, "settle.tau-untold", q.Note.Code)
	_, err = Settle(rows, CohortOptions{Categories: o.Categories, OnTau: []string{"age"}})
	require.Error(t, err)
}

// Groups with the same time constant have a factor about 1, whichever way they are told.
func TestTauFactor(t *testing.T) {
	rows := beddedRows(12, 0, 0.3, 0.7, 1.2, 2, 3, 5, 8)
	for i := range rows {
		rows[i].Group = []string{"a", "b"}[int(rows[i].Hip[0])%2]
		rows[i].Categories = []string{rows[i].Group}
	}
	byGroup, err := Settle(rows, CohortOptions{Categories: []string{"make"}, GroupTau: true})
	require.Error(t, err, "the category is the group")
	require.Empty(t, byGroup)
	for i := range rows {
		rows[i].Categories = nil
	}
	byGroup, err = Settle(rows, CohortOptions{GroupTau: true})
	require.NoError(t, err)
	q, ok := quantityOf(byGroup, "", "time constant, b over a")
	require.True(t, ok)
	assert.True(t, q.Interval.Contains(1))
	assert.InDelta(t, math.Sqrt(q.Interval.Lo*q.Interval.Hi), q.Value, 1e-9)
}
