package dataset_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
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

// Each series of a hip has its fits, with the implant that the hip had then and from a baseline film
// of its own.
func TestFitsOfEachSeries(t *testing.T) {
	r := record()
	r.Exclusions = nil
	first := exported(t, dataset.Options{Whose: "R1"}, kept(r)).table(t, "fits")
	require.Equal(t, []string{"1", "0"}, []string{first[0]["series"], first[0]["series_start_years"]})
	r.Events = []study.Event{{ID: "E1", Kind: study.LinerExchanged, Date: day("2006-01-01")}}
	r.Hip.Until = study.UntilOf(r.Events)
	e := exported(t, dataset.Options{Whose: "R1"}, kept(r))
	want, err := r.Series()[1].Trend("R1")
	require.NoError(t, err)
	require.NotNil(t, want.Fit)
	rates, starts := map[string]float64{}, map[string]string{}
	for _, q := range e.table(t, "fits") {
		starts[q["series"]] = q["series_start_years"]
		if q["model"] == first[0]["model"] && q["quantity"] == "rate" && q["value"] != "NA" {
			rates[q["series"]] = number(t, q["value"])
		}
	}
	require.Equal(t, "0", starts["1"])
	require.InDelta(t, r.Hip.Years(r.Hip.Until), number(t, starts["2"]), 1e-12)
	require.InDelta(t, want.Fit.Rate, rates["2"], 1e-12)
	require.Equal(t, "NA", e.table(t, "hips")[0]["rate_mm_per_year"], "of the first series two films are left, one of them in the line")

	moved := map[string]map[string]string{}
	for _, p := range e.table(t, "penetration") {
		moved[p["reading_id"]] = p
	}
	for id, want := range map[string][]string{
		"r1Fb": {"1", "1", "0", "0.29"}, "r1Fc": {"2", "0", "1", "0"}, "r1Fe": {"2", "0", "0", "0.77"},
	} {
		p := moved[id]
		require.Equal(t, want[:3], []string{p["series"], p["counts"], p["is_baseline"]}, id)
		require.InDelta(t, number(t, want[3]), number(t, p["penetration_superior_mm"]), 1e-12, id)
	}
	films := e.table(t, "films")
	require.Equal(t, []string{"1", "2", "later-series", "NA"}, []string{films[1]["series"], films[2]["series"], films[2]["state"], films[2]["penetration_superior_mm"]})

	apart := exported(t, dataset.Options{Whose: "R1", Deidentified: true}, kept(r)).table(t, "fits")
	require.Equal(t, starts["2"], apart[len(apart)-1]["series_start_years"])

	r.Events[0].Kind, r.Events[0].Implant.HeadMM = study.HeadExchanged, 32
	for _, g := range exported(t, dataset.Options{Whose: "R1"}, kept(r)).table(t, "readings") {
		if g["row"] == "reading" && g["status"] == "measured" {
			require.Equal(t, map[bool]string{true: "28", false: "32"}[g["film_id"] < "Fc"], g["head_mm"], g["film_id"])
		}
	}
}
