package mixed

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// leastSquares are the scores of each child's rows by least squares, in which all rows are
// independent; left are the numbers of rows to be left out.
func leastSquares(t *testing.T, grouped bool, left ...int) []score {
	t.Helper()
	d := mixedTable(t, "orthodont.csv", "Subject", "age", "distance", "", "")
	var cols [][]float64
	var y []float64
	var child []string
	for i, age := range d.Time {
		if slices.Contains(left, i) {
			continue
		}
		row := []float64{1, age}
		if grouped {
			girl := 0.0
			if d.Hip[i][0] == 'F' {
				girl = 1
			}
			row = append(row, girl, girl*age)
		}
		cols, y, child = append(cols, row), append(y, d.Value[i]), append(child, d.Hip[i])
	}
	n := len(cols[0])
	by := make([][]float64, n)
	for _, row := range cols {
		for j, v := range row {
			by[j] = append(by[j], v)
		}
	}
	l, err := wearfit.FitLinear(by, y, nil)
	require.NoError(t, err)
	at := map[string]int{}
	var out []score
	for i, row := range cols {
		if _, ok := at[child[i]]; !ok {
			at[child[i]] = len(out)
			out = append(out, score{u: make([]float64, n), h: mat.NewSymDense(n, nil)})
		}
		s := out[at[child[i]]]
		for j, v := range row {
			s.u[j] += v * l.Residuals[i]
		}
		s.h.SymRankOne(s.h, 1, mat.NewVecDense(n, row))
	}
	return out
}

// clubSandwich 0.5.8 in R 4.2.2: vcovCR(lm(distance ~ age * girl), cluster = Subject, type =
// "CR2") and coef_test(test = "Satterthwaite"), of all rows and without 2, 3, 9, 20, 21, 22
// and 40.
func TestSandwichAgainstR(t *testing.T) {
	for _, c := range []struct {
		name    string
		grouped bool
		left    []int
		se, df  []float64
	}{
		{"alike", false, nil, []float64{0.7752461852040, 0.0712532707709}, []float64{26, 26}},
		{"groups", true, nil, []float64{1.209900295048, 0.101572916133, 1.429116948638, 0.121249143553}, []float64{15, 15, 21.653465346535, 21.653465346535}},
		{"films missing", true, []int{1, 2, 8, 19, 20, 21, 39}, []float64{1.597842646170, 0.129480481579, 1.769637717400, 0.145428651340},
			[]float64{14.079573100458, 14.219187332163, 22.161835266654, 22.212955975818}},
	} {
		s, err := newSandwich(leastSquares(t, c.grouped, c.left...))
		require.NoError(t, err)
		for j := range c.se {
			x := make([]float64, len(c.se))
			x[j] = 1
			v, df := s.variance(x)
			near(t, c.se[j], math.Sqrt(v), 1e-10, c.name+" se")
			near(t, c.df[j], df, 1e-9, c.name+" df")
		}
	}
}

// What one patient alone tells has no error of its own.
func TestSandwichOfOne(t *testing.T) {
	d := simulated(12, false, 3)
	for i := range d.Hip {
		for j := 2; j < len(d.Fixed); j++ {
			d.Fixed[j][i] = 0
			if d.Hip[i] == "H7" {
				d.Fixed[j][i] = d.Fixed[j-2][i]
			}
		}
	}
	r, err := FitRobust(d, Options{}, 4)
	require.NoError(t, err)
	e := r.Combine([]float64{0, 0, 0, 1})
	assert.True(t, math.IsInf(e.SE, 1))
	assert.Zero(t, e.DF)
	assert.Equal(t, wearfit.Unbounded(), e.Interval(0.95))
	assert.Positive(t, r.Combine([]float64{0, 1, 0, 0}).DF)
}
