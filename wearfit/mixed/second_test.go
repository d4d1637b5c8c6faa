package mixed

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A second implementation of the mixed model's likelihood, scipy 1.10.1: within
// 1e-9 of lme4's, its parameters within 2e-6.
func TestMixedIndependent(t *testing.T) {
	var ref struct {
		Fits map[string]struct {
			LogLik   float64
			Fixed    []float64
			SE       []float64 `json:"fixed_se"`
			SD       []float64 `json:"random_sd"`
			Corr     float64
			Residual float64 `json:"residual_sd"`
		}
	}
	reference(t, "independent.json", &ref)
	read := func(file string) Data { return mixedTable(t, file, "Subject", "Days", "Reaction", "", "") }
	teeth := func(file string) Data { return mixedTable(t, file, "Subject", "age", "distance", "", "") }
	sets := map[string]Data{
		"sleepstudy": read("sleepstudy.csv"), "sleepstudy_unbalanced": read("sleepstudy_unbalanced.csv"),
		"orthodont": teeth("orthodont.csv"), "orthodont_unbalanced": teeth("orthodont_unbalanced.csv"),
		"orthodont_boundary": teeth("orthodont_boundary.csv"),
		"cohort_300_pooled":  mixedTable(t, "cohort_300.csv", "hip", "years", "penetration", "", ""),
		"cohort_300_groups":  mixedTable(t, "cohort_300.csv", "hip", "years", "penetration", "liner", "crosslinked"),
		"boundary":           mixedTable(t, "boundary.csv", "hip", "years", "penetration", "", ""),
	}
	done := 0
	for name, d := range sets {
		for suffix, o := range map[string]Options{"_reml": {}, "_ml": {ML: true}} {
			want, ok := ref.Fits[name+suffix]
			if !ok {
				continue
			}
			done++
			t.Run(name+suffix, func(t *testing.T) {
				m, err := Fit(d, o)
				require.NoError(t, err)
				assert.InDelta(t, want.LogLik, m.LogLik, 1e-6)
				near(t, want.Residual, m.Sigma, 1e-5, "residual sd")
				if !m.Singular {
					near(t, want.SD[0], m.SDIntercept, 1e-5, "sd of intercepts")
					near(t, want.SD[1], m.SDSlope, 1e-5, "sd of slopes")
					assert.InDelta(t, want.Corr, m.Corr, 1e-5)
				}
				for j := range want.Fixed {
					// The reference puts the time before the group.
					near(t, want.Fixed[j], m.Coef[j], 1e-5, m.Names[j])
					near(t, want.SE[j], m.Estimate(j).SE, 1e-5, "se of "+m.Names[j])
				}
			})
		}
	}
	assert.Equal(t, len(ref.Fits), done)
}

// nlme 3.1-162 where it converges, and the values that are printed: Bates D et al.
// J Stat Softw 2015;67(1) and Pinheiro JC, Bates DM. Mixed-Effects Models in S and
// S-PLUS. Springer 2000.
func TestMixedSecond(t *testing.T) {
	type nlme struct {
		Fixed    map[string]float64
		SE       map[string]float64 `json:"fixed_se"`
		Residual float64            `json:"residual_sd"`
		LogLik   float64
	}
	type set struct {
		Check nlme `json:"nlme_check_random_slope_reml"`
	}
	type printed struct {
		Fixed, SD []float64
		RandomSD  []float64 `json:"random_sd"`
		Corr      float64
		Residual  float64 `json:"residual_sd"`
		Criterion float64 `json:"reml_criterion"`
		LogLik    float64 `json:"reml_loglik"`
	}
	var ref struct {
		Published             struct{ Sleepstudy, Orthodont printed }
		Sleepstudy, Orthodont set
		SleepUnbalanced       set `json:"sleepstudy_unbalanced"`
		OrthodontUnbalanced   set `json:"orthodont_unbalanced"`
	}
	reference(t, "classic.json", &ref)
	var cohort struct {
		Check nlme `json:"groups_nlme_check"`
	}
	reference(t, "cohort_300.json", &cohort)
	groups := mixedTable(t, "cohort_300.csv", "hip", "years", "penetration", "liner", "crosslinked")
	groups.Names = []string{"(Intercept)", "years", "linercrosslinked", "years:linercrosslinked"}
	for _, c := range []struct {
		name string
		d    Data
		want nlme
		as   printed
	}{
		{"sleep", mixedTable(t, "sleepstudy.csv", "Subject", "Days", "Reaction", "", ""), ref.Sleepstudy.Check, ref.Published.Sleepstudy},
		{"sleep unbalanced", mixedTable(t, "sleepstudy_unbalanced.csv", "Subject", "Days", "Reaction", "", ""), ref.SleepUnbalanced.Check, printed{}},
		{"teeth", mixedTable(t, "orthodont.csv", "Subject", "age", "distance", "", ""), ref.Orthodont.Check, ref.Published.Orthodont},
		{"teeth unbalanced", mixedTable(t, "orthodont_unbalanced.csv", "Subject", "age", "distance", "", ""), ref.OrthodontUnbalanced.Check, printed{}},
		{"cohort", groups, cohort.Check, printed{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, err := Fit(c.d, Options{})
			require.NoError(t, err)
			require.NotEmpty(t, c.want.Fixed)
			assert.InDelta(t, c.want.LogLik, m.LogLik, 1e-5)
			near(t, c.want.Residual, m.Sigma, 1e-4, "residual sd")
			for j, name := range m.Names {
				near(t, c.want.Fixed[name], m.Coef[j], 1e-5, name)
				near(t, c.want.SE[name], m.Estimate(j).SE, 1e-4, "se of "+name)
			}
			if c.as.Fixed == nil {
				return
			}
			for j, v := range c.as.Fixed {
				assert.InDelta(t, v, m.Coef[j], 6e-4, "as printed")
			}
			assert.InDelta(t, c.as.RandomSD[0], m.SDIntercept, 6e-3, "as printed")
			assert.InDelta(t, c.as.RandomSD[1], m.SDSlope, 6e-4, "as printed")
			assert.InDelta(t, c.as.Corr, m.Corr, 6e-4, "as printed")
			assert.InDelta(t, c.as.Residual, m.Sigma, 6e-4, "as printed")
			if c.as.Criterion > 0 {
				assert.InDelta(t, c.as.Criterion, -2*m.LogLik, 0.05, "as printed")
			} else {
				assert.InDelta(t, c.as.LogLik, m.LogLik, 6e-4, "as printed")
			}
		})
	}
}
