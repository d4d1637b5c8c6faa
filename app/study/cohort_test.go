package study

import (
	"fmt"
	"math"
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

// erring simulates hips whose readings' errors are stated: own that of a film, base that
// of the baseline film.
func erring(hips int, own, base float64) []CohortRow {
	r := rand.New(rand.NewPCG(23, 4))
	var rows []CohortRow
	for h := range hips {
		shared := base * r.NormFloat64()
		a, b := 0.05*r.NormFloat64(), 0.02*r.NormFloat64()
		for i, t := range []float64{0.1, 1, 2, 4, 6, 9} {
			row := CohortRow{Hip: fmt.Sprintf("H%d", h), Group: string(rune('p' + h%3)), Categories: []string{[]string{"low", "high"}[h/3%2]},
				Point: Point{Years: t, MM: 0.1 + a + (0.05+b)*t + shared + own*r.NormFloat64(), SE: math.Hypot(own, base), SEBase: base}}
			if i == 0 {
				row.Point = Point{Years: t}
			}
			if row.Categories[0] == "high" && i > 0 {
				row.MM += 0.04 * t
			}
			rows = append(rows, row)
		}
	}
	return rows
}

func modelled(list []Quantity, model string) (out []Quantity) {
	for _, q := range list {
		if q.Model == model {
			out = append(out, q)
		}
	}
	return out
}

// Stated errors are taken off what is estimated: intercepts then vary by 0.05 mm, and
// not by that and the baseline's error; the films scatter by no more than is stated.
func TestMixedErrors(t *testing.T) {
	o := CohortOptions{Categories: []string{"activity"}, OnRate: []string{"activity"}}
	rows := erring(90, 0.06, 0.06)
	told, err := Mixed(rows, o)
	require.NoError(t, err)
	require.InDelta(t, 0.05, named(t, told, "SD of intercepts between hips, without the baseline film's error").Value, 0.03)
	require.Less(t, named(t, told, "residual SD, beyond the readings' stated errors").Value, 0.025)
	agree := named(t, told, "scatter of films over the stated errors")
	require.True(t, agree.Interval.Contains(1), "%+v", agree)
	require.Equal(t, "without the baseline film's error", NoteWords(named(t, modelled(told, shrunkenModel), "intercept").Note))
	rows = rows[:33*6]
	for i := range rows {
		rows[i].SE, rows[i].SEBase = 0, 0
	}
	untold, err := Mixed(rows, o)
	require.NoError(t, err)
	require.InDelta(t, math.Hypot(0.05, 0.06), named(t, untold, "SD of intercepts between hips").Value, 0.03)
	require.InDelta(t, 0.06, named(t, untold, "residual SD").Value, 0.01)
	require.Equal(t, "the baseline film's error is in it", NoteWords(named(t, modelled(untold, shrunkenModel), "intercept").Note))

	// low is the second level, high the reference.
	effect := named(t, told, "rate by activity, low less high")
	require.Equal(t, ByKenwardRoger, effect.By)
	require.True(t, effect.Interval.Contains(-0.04), "%+v", effect)
	require.Less(t, named(t, modelled(told, kenwardTest), "rates differ by activity").P, 0.001)
	require.Greater(t, named(t, modelled(told, kenwardTest), "rates differ between groups").P, 0.01)

	rows = erring(33, 0.06, 0.12)
	rows[2].SE, rows[2].SEBase = 0, 0
	some, err := Mixed(rows, o)
	require.NoError(t, err)
	require.InDelta(t, 5, named(t, some, "films whose error is not stated").Value, 0)
	rows[3].SE = 0.1
	_, err = Mixed(rows, o)
	require.Equal(t, "hip H0: a standard error of 0.1 mm leaves nothing beside the baseline film's 0.12 mm", Told(err))
	_, err = Mixed(rows[:6], CohortOptions{Categories: o.Categories, OnRate: []string{"age"}})
	require.Equal(t, "age is to act on the rate or the time constant but is no covariate or category", Told(err))
}

// Twice the scatter that is stated is found; a hip that stands apart is named.
func TestMixedChecks(t *testing.T) {
	rows := erring(33, 0.06, 0.02)
	for i := range rows {
		if rows[i].SE > 0 {
			rows[i].SE, rows[i].SEBase = math.Hypot(0.03, 0.02), 0.02
		}
		if rows[i].Hip == "H5" && rows[i].MM != 0 {
			rows[i].MM += 0.4 * rows[i].Years
		}
	}
	list, err := Mixed(rows, CohortOptions{Categories: []string{"activity"}, Robust: true, Diagnostics: true})
	require.NoError(t, err)
	ratio := named(t, list, "scatter of films over the stated errors")
	require.True(t, ratio.Interval.Contains(2), "%+v", ratio)
	require.Less(t, ratio.P, 0.001)
	robust := modelled(list, robustModel)
	require.Equal(t, "H5", named(t, robust, "weight").Of)
	require.Less(t, named(t, robust, "SD of rates").Value, named(t, list, "SD of rates").Value/2)
	require.Len(t, modelled(list, filmResidual), 3*165)
	require.Len(t, modelled(list, hipResidual), 4*33)
}

// With few hips every number says by what it was made, and chi-square is not asked.
func TestMixedHow(t *testing.T) {
	few, err := Mixed(cohortOf(12, 0, 0), CohortOptions{Covariates: []string{"age"}})
	require.NoError(t, err)
	many, err := Mixed(cohortOf(120, 0, 0), CohortOptions{Covariates: []string{"age"}})
	require.NoError(t, err)
	ml, err := Mixed(cohortOf(40, 0, 0), CohortOptions{ML: true, Covariates: []string{"age"}})
	require.NoError(t, err)
	for _, c := range []struct {
		list  []Quantity
		model string
		want  Convention
	}{
		{few, "mixed model, REML", ByKenwardRoger}, {many, "mixed model, REML", BySatterthwaite}, {ml, "mixed model, ML", BySatterthwaite},
		{few, ratioTest, ByDrawnCohorts}, {many, ratioTest, ByRatioTest}, {ml, ratioTest, ByRatioTest},
		{few, shrunkenModel, ByIntegration}, {many, shrunkenModel, ByKnownVariances}, {ml, shrunkenModel, ByIntegration},
	} {
		q := modelled(c.list, c.model)[0]
		require.Equal(t, c.want, q.By, "%s: %s", c.model, q.Name)
		require.NotEmpty(t, q.By.Words())
	}
	require.Equal(t, ByMixture, named(t, modelled(many, ratioTest), "rates vary between hips").By)
}

// Three groups, one of a single hip: it is said, and the others are compared.
func TestGroups(t *testing.T) {
	rows, o := erring(12, 0.02, 0.02), CohortOptions{Categories: []string{"activity"}}
	three, err := Groups(rows, o)
	require.NoError(t, err)
	require.Equal(t, "Welch analysis of variance", named(t, three, "rates differ between groups").Model)
	require.True(t, named(t, modelled(three, "Kruskal-Wallis test"), "rates differ").HasP)
	require.Contains(t, named(t, three, "mean rate").By.Words(), "films stop")

	var lone []CohortRow
	for _, r := range rows {
		if r.Group != "r" || r.Hip == "H2" {
			lone = append(lone, r)
		}
	}
	got, err := Groups(lone, o)
	require.NoError(t, err)
	require.Equal(t, "without r: fewer than two hips", NoteWords(named(t, got, "rate, p less q").Note))
	require.Equal(t, 2.0, named(t, modelled(got, "Kruskal-Wallis test"), "rates differ").DF)

	lone = lone[:18] // one hip in each group
	got, err = Groups(lone, o)
	require.NoError(t, err)
	none := named(t, modelled(got, "Welch test"), "rates differ")
	require.False(t, none.Exists())
	require.Equal(t, "without p, q, r: fewer than two hips", NoteWords(none.Note))
	_, err = Groups(rows[:6], o)
	require.Equal(t, "two or more groups are needed for a comparison, the table has one", Told(err))
}
