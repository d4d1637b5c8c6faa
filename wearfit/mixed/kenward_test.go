package mixed

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pbkrtest 0.5-2 by lmerTest 3.1-3 on the classic sets, complete and unbalanced.
func TestKenwardClassic(t *testing.T) {
	type kr struct {
		KR struct{ SE, DF map[string]float64 } `json:"kenward_roger"`
	}
	type set struct {
		Slope     kr `json:"random_slope_reml"`
		Intercept kr `json:"random_intercept_reml"`
	}
	var ref struct {
		Sleepstudy           set
		SleepstudyUnbalanced set `json:"sleepstudy_unbalanced"`
		Orthodont            set
		OrthodontUnbalanced  set `json:"orthodont_unbalanced"`
	}
	reference(t, "classic.json", &ref)
	for _, c := range []struct {
		file, time, value string
		want              set
	}{
		{"sleepstudy.csv", "Days", "Reaction", ref.Sleepstudy},
		{"sleepstudy_unbalanced.csv", "Days", "Reaction", ref.SleepstudyUnbalanced},
		{"orthodont.csv", "age", "distance", ref.Orthodont},
		{"orthodont_unbalanced.csv", "age", "distance", ref.OrthodontUnbalanced},
	} {
		d := mixedTable(t, c.file, "Subject", c.time, c.value, "", "")
		for r, want := range map[Random]kr{InterceptAndSlope: c.want.Slope, InterceptOnly: c.want.Intercept} {
			m, err := Fit(d, Options{Random: r})
			require.NoError(t, err)
			k, err := NewKenward(m)
			require.NoError(t, err)
			require.NotEmpty(t, want.KR.SE)
			for j, name := range m.Names {
				e := k.Estimate(j)
				near(t, want.KR.SE[name], e.SE, 1e-4, c.file+" se of "+name)
				near(t, want.KR.DF[name], e.DF, 1e-3, c.file+" df of "+name)
			}
		}
	}
}

// pbkrtest 0.5-2 by .ci/mixed.R: repeated films, rates of patients, two columns at
// once.
func TestKenwardAgainstR(t *testing.T) {
	_, want := columns(t, "errors_r.csv")
	models := erringModels(t)
	kenward := map[string]*Kenward{}
	test := map[string]FTest{}
	for _, name := range []string{"plain", "film", "patient"} {
		k, err := NewKenward(models[name])
		require.NoError(t, err)
		kenward[name] = k
		if name == "film" {
			continue
		}
		test[name], err = k.Test([][]float64{{0, 0, 1, 0}, {0, 0, 0, 1}})
		require.NoError(t, err)
	}
	seen := 0
	for _, r := range want {
		k, f := kenward[r[0]], test[r[0]]
		v := number(t, r[2])
		var j int
		var got float64
		switch {
		case r[1] == "kr_f":
			got = f.F
		case r[1] == "kr_scale":
			got = f.Scale
		case r[1] == "kr_ddf":
			got = f.DF2
		case r[1] == "kr_p":
			got = f.P
		default:
			if _, err := fmt.Sscanf(r[1], "kr_se%d", &j); err == nil {
				got = k.Estimate(j).SE
			} else if _, err := fmt.Sscanf(r[1], "kr_df%d", &j); err == nil {
				got = k.Estimate(j).DF
			} else {
				continue
			}
		}
		seen++
		near(t, v, got, 1e-3, r[0]+" "+r[1])
	}
	assert.Equal(t, 28, seen)
}

// One column: the scale is 1 and F is the square of t.
func TestKenwardOneColumn(t *testing.T) {
	m, err := Fit(simulated(8, false, 4), Options{})
	require.NoError(t, err)
	k, err := NewKenward(m)
	require.NoError(t, err)
	f, err := k.Test([][]float64{{0, 0, 0, 1}})
	require.NoError(t, err)
	e := k.Estimate(3)
	near(t, e.DF, f.DF2, 1e-9, "df")
	near(t, 1, f.Scale, 1e-9, "scale")
	near(t, math.Pow(e.Value/e.SE, 2), f.F, 1e-9, "F")
	near(t, e.P(0), f.P, 1e-9, "p")
	assert.Greater(t, e.SE, m.Estimate(3).SE, "the variances are estimated")

	many, err := Fit(simulated(SmallCohort, false, 4), Options{})
	require.NoError(t, err)
	large, err := NewKenward(many)
	require.NoError(t, err)
	for j := range many.Coef {
		near(t, many.Estimate(j).SE, large.Estimate(j).SE, 0.01, "with many hips nothing is gained")
	}

	ml, err := Fit(simulated(8, false, 4), Options{ML: true})
	require.NoError(t, err)
	_, err = NewKenward(ml)
	require.ErrorIs(t, err, ErrML)
	_, err = k.Test([][]float64{{0, 1, 0, 0}, {0, 2, 0, 0}})
	require.Error(t, err)
}
