package study

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// cohortOf simulates hips whose penetration is 0.1 + 0.05 t, and curve (t-1)², and
// by their patient's age, and the readings' scatter.
func cohortOf(hips int, curve, byAge float64) []CohortRow {
	r := rand.New(rand.NewPCG(11, 4))
	var rows []CohortRow
	for h := range hips {
		age := 50 + 30*r.Float64()
		a, b := 0.05*r.NormFloat64(), 0.01*r.NormFloat64()
		for _, t := range []float64{0.5, 1, 2, 4, 6, 9} {
			y := 0.1 + a + (0.05+b)*t + curve*(t-1)*(t-1) + byAge*(age-65) + 0.03*r.NormFloat64()
			rows = append(rows, CohortRow{Hip: fmt.Sprintf("H%d", h), Covariates: []float64{age}, Point: Point{Years: t, MM: y}})
		}
	}
	return rows
}

func named(t *testing.T, list []Quantity, name string) Quantity {
	t.Helper()
	for _, q := range list {
		if len(q.Name) >= len(name) && q.Name[:len(name)] == name {
			return q
		}
	}
	require.Fail(t, "no quantity", name)
	return Quantity{}
}

func TestMixedCovariateAndTime(t *testing.T) {
	o := CohortOptions{Covariates: []string{"age"}}
	straight, err := Mixed(cohortOf(60, 0, 0.004), o)
	require.NoError(t, err)
	effect := named(t, straight, "effect of age, about its mean")
	require.True(t, effect.Interval.Contains(0.004), "%+v", effect)
	require.False(t, effect.Interval.Contains(0))
	require.Greater(t, named(t, straight, "rates change with time").P, 0.01)
	require.Less(t, named(t, straight, "rates vary between hips").P, 0.001)
	require.InDelta(t, 60, named(t, straight, "films before the start").Value, 0)

	bent, err := Mixed(cohortOf(60, 0.003, 0), o)
	require.NoError(t, err)
	require.Less(t, named(t, bent, "rates change with time").P, 0.001)
	require.True(t, named(t, bent, "effect of age").Interval.Contains(0))

	ml, err := Mixed(cohortOf(60, 0, 0), CohortOptions{ML: true, Uncorrelated: true, Covariates: o.Covariates})
	require.NoError(t, err)
	require.Equal(t, "mixed model, ML", ml[0].Model)
	require.Zero(t, named(t, ml, "correlation of intercept and rate").Value)
	// The mean of the covariate moves the intercept, not what hips are drawn to.
	require.InDelta(t, 0.1, named(t, ml, "intercept").Value, 0.03)

	rows := cohortOf(3, 0, 0)
	rows[1].Covariates = []float64{1}
	_, err = Mixed(rows, o)
	require.Contains(t, Told(err), "hip H0 has two values of age")
}
