package dataset_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/app/report/dataset"
)

// Intervals of fits can be had from the columns beside them, as the codebook says.
func TestFitsRebuildTheirIntervals(t *testing.T) {
	r := record()
	for i := range r.Readings {
		m := &r.Readings[i].Measurement.Reading
		m.SEScale = 0.01 * m.Scale
	}
	for i := range r.Films { // a baseline film worse than the others, of which scatter does not tell
		if r.Films[i].ID == "Fa" {
			v := &r.Readings[0].Measurement.Reading.Offset
			v.Cov[0][0] *= 9
		}
	}
	e := exported(t, dataset.Options{Whose: "R1"}, kept(r))
	z := distuv.UnitNormal.Quantile(0.975)
	student := func(df string) float64 {
		if df == "NA" {
			return z
		}
		return distuv.StudentsT{Sigma: 1, Nu: number(t, df)}.Quantile(0.975)
	}
	parts, plain := 0, 0
	for _, q := range e.table(t, "fits") {
		if q["lo95"] == "NA" || q["hi95"] == "NA" || q["se"] == "NA" {
			continue
		}
		what := q["model"] + ", " + q["quantity"]
		v, se, half := number(t, q["value"]), number(t, q["se"]), 0.0
		if q["se_scatter"] != "NA" {
			parts++
			a, b, c := number(t, q["se_scatter"]), number(t, q["se_known"]), number(t, q["se_scale"])
			require.InEpsilon(t, se*se, a*a+b*b+c*c, 1e-9, what)
			tt, w := student(q["df_scatter"]), a*a/(a*a+b*b)
			half = math.Sqrt((a*a+b*b)*(z*z+w*w*(tt*tt-z*z)) + z*z*c*c)
			require.Positive(t, c, what)
		} else {
			plain++
			half = student(q["df"]) * se
		}
		require.InDelta(t, v-half, number(t, q["lo95"]), 1e-6*half, what)
		require.InDelta(t, v+half, number(t, q["hi95"]), 1e-6*half, what)
	}
	require.GreaterOrEqual(t, parts, 2)
	t.Log(parts, plain)
}
