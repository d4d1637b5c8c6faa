package study

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/wearfit"
	"linerwatch/wearfit/settle"
)

// beddedRows are invented hips: bedding-in of 0.15 mm by a time constant of half a year,
// then 0.05 mm a year and more from hip to hip.
func beddedRows(hips int, years ...float64) []CohortRow {
	var rows []CohortRow
	for h := range hips {
		name := string(rune('A' + h))
		curve := func(t float64) float64 {
			bed := 0.15 + 0.02*math.Sin(float64(3*h))
			return bed*(1-math.Exp(-t/0.5)) + (0.05+0.004*float64(h))*t + 0.02*math.Sin(float64(7*h)+13*t)
		}
		for i, t := range years {
			p := Point{Years: t}
			if i > 0 {
				p.MM = curve(t) - curve(years[0])
			}
			rows = append(rows, CohortRow{Hip: name, Point: p})
		}
	}
	return rows
}

func quantityOf(list []Quantity, of, name string) (Quantity, bool) {
	for _, q := range list {
		if q.Of == of && q.Name == name {
			return q, true
		}
	}
	return Quantity{}, false
}

// A baseline film that the rows do not list is the film at surgery, in every hip.
func TestSettleBaseline(t *testing.T) {
	rows := beddedRows(10, 0, 0.5, 1, 2, 5, 8)
	var bare []CohortRow
	for _, r := range rows {
		if r.Years > 0 {
			bare = append(bare, r)
		}
	}
	full, err := Settle(rows, CohortOptions{AtYears: []float64{5}})
	require.NoError(t, err)
	less, err := Settle(bare, CohortOptions{AtYears: []float64{5}})
	require.NoError(t, err)
	for _, name := range []string{"bedding-in", "rate", "penetration at year 5"} {
		a, ok := quantityOf(full, "C", name)
		require.True(t, ok)
		b, ok := quantityOf(less, "C", name)
		require.True(t, ok)
		assert.Equal(t, a.Interval, b.Interval, name)
	}
	const unlisted = "hips whose baseline film is not listed: taken to be at surgery"
	_, ok := quantityOf(full, "", unlisted)
	assert.False(t, ok)
	q, ok := quantityOf(less, "", unlisted)
	require.True(t, ok)
	assert.InDelta(t, 10, q.Value, 0)
}

// Stated errors of the readings, and what is said where a hip's are not.
func TestSettleErrors(t *testing.T) {
	rows := beddedRows(10, 0, 0.5, 1, 2, 5, 8)
	for i := range rows {
		if rows[i].Years > 0 && rows[i].Hip != "B" {
			rows[i].SE, rows[i].SEBase = 0.025, 0.015
		}
	}
	list, err := Settle(rows, CohortOptions{})
	require.NoError(t, err)
	_, ok := quantityOf(list, "", "residual SD, beyond the readings' stated errors")
	assert.True(t, ok)
	q, ok := quantityOf(list, "", "films whose error is not stated: taken for the others' root mean square")
	require.True(t, ok)
	assert.InDelta(t, 6, q.Value, 0)
}

// Where films do not tell bedding-in from wear, no error is claimed.
func TestSettleNotTold(t *testing.T) {
	rows := beddedRows(10, 3, 4, 5, 6, 8, 10)
	list, err := Settle(rows, CohortOptions{})
	require.NoError(t, err)
	rate, ok := quantityOf(list, "", "rate")
	require.True(t, ok)
	assert.False(t, rate.HasInterval || rate.HasP)
	assert.Equal(t, "settle.long", rate.Note.Code)
	own, ok := quantityOf(list, "C", "rate")
	require.True(t, ok)
	assert.Equal(t, "settle.range", own.Note.Code)
}

// What cannot be fitted is one error.
func TestSettleRefused(t *testing.T) {
	nan := beddedRows(4, 0, 1, 2, 5)
	nan[2].MM = math.NaN()
	two := beddedRows(4, 0, 0.5, 1, 2, 5)
	two[1].Group = "x"
	for name, c := range map[string]struct {
		rows []CohortRow
		want string
	}{
		"no row":     {nil, "a cohort is two or more hips"},
		"one hip":    {beddedRows(1, 0, 1, 2, 5), "a cohort is two or more hips"},
		"NaN":        {nan, "hip A: a value is not a finite number"},
		"two groups": {two, "hip A is in groups  and x"},
	} {
		_, err := Settle(c.rows, CohortOptions{})
		require.Error(t, err, name)
		assert.Equal(t, c.want, Told(err), name)
	}
	flat := beddedRows(4, 0, 0.5, 1, 2, 5)
	for i := range flat {
		flat[i].MM = 0
	}
	_, err := Settle(flat, CohortOptions{})
	assert.ErrorIs(t, err, wearfit.ErrNoScatter)
	var pairs []CohortRow
	for h, r := range beddedRows(8, 0, 0.5, 1, 2, 5, 8) {
		if i := h % 6; i == 0 || i == 1+h/6%5 {
			pairs = append(pairs, r)
		}
	}
	_, err = Settle(pairs, CohortOptions{})
	assert.True(t, errors.Is(err, settle.ErrTwoTimes), "%v", err)
}
