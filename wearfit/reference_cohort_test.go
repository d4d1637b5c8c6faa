package wearfit

import (
	"math"
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
	reference(t, "mixed_independent.json", &ref)
	read := func(file string) MixedData { return mixedTable(t, file, "Subject", "Days", "Reaction", "", "") }
	teeth := func(file string) MixedData { return mixedTable(t, file, "Subject", "age", "distance", "", "") }
	sets := map[string]MixedData{
		"sleepstudy": read("sleepstudy.csv"), "sleepstudy_unbalanced": read("sleepstudy_unbalanced.csv"),
		"orthodont": teeth("orthodont.csv"), "orthodont_unbalanced": teeth("orthodont_unbalanced.csv"),
		"orthodont_boundary": teeth("orthodont_boundary.csv"),
		"cohort_300_pooled":  mixedTable(t, "mixed_cohort_300.csv", "hip", "years", "penetration", "", ""),
		"cohort_300_groups":  mixedTable(t, "mixed_cohort_300.csv", "hip", "years", "penetration", "liner", "crosslinked"),
		"boundary":           mixedTable(t, "mixed_boundary.csv", "hip", "years", "penetration", "", ""),
	}
	done := 0
	for name, d := range sets {
		for suffix, o := range map[string]MixedOptions{"_reml": {}, "_ml": {ML: true}} {
			want, ok := ref.Fits[name+suffix]
			if !ok {
				continue
			}
			done++
			t.Run(name+suffix, func(t *testing.T) {
				m, err := FitMixed(d, o)
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
	reference(t, "mixed_classic.json", &ref)
	var cohort struct {
		Check nlme `json:"groups_nlme_check"`
	}
	reference(t, "mixed_cohort_300.json", &cohort)
	groups := mixedTable(t, "mixed_cohort_300.csv", "hip", "years", "penetration", "liner", "crosslinked")
	groups.Names = []string{"(Intercept)", "years", "linercrosslinked", "years:linercrosslinked"}
	for _, c := range []struct {
		name string
		d    MixedData
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
			m, err := FitMixed(c.d, MixedOptions{})
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

// psych 2.2.9 ICC with its F tests, which follow from the mean squares; the table
// printed by Shrout and Fleiss; the flow meters as two judges.
func TestIntraclassAgainstPsych(t *testing.T) {
	type psych struct {
		Psych []struct{ ICC, F, Lower95, Upper95 float64 }
	}
	var ref struct {
		Published struct {
			S map[string]float64 `json:"shrout_fleiss"`
		}
		Shrout    psych `json:"shrout_fleiss"`
		Observers psych `json:"observers_40x3"`
	}
	reference(t, "icc.json", &ref)
	judges := columns(t, "shrout_fleiss.csv", nil, "judge1", "judge2", "judge3", "judge4")
	for _, c := range []struct {
		want psych
		cols [][]float64
	}{{ref.Shrout, judges}, {ref.Observers, columns(t, "observers_40x3.csv", nil, "observer1", "observer2", "observer3")}} {
		r, err := Intraclass(transposed(c.cols), 0.95)
		require.NoError(t, err)
		require.Len(t, c.want.Psych, 6)
		for i, p := range c.want.Psych {
			near(t, p.ICC, r.Forms[i].Value, exact, r.Forms[i].Form)
			near(t, max(p.Lower95, 0), r.Forms[i].Lo, exact, r.Forms[i].Form+", lower")
			near(t, p.Upper95, r.Forms[i].Hi, exact, r.Forms[i].Form+", upper")
			f := r.MSTargets / r.MSResidual
			if i%3 == 0 {
				f = r.MSTargets / r.MSWithin
			}
			near(t, p.F, f, exact, "F")
		}
	}
	r, err := Intraclass(transposed(judges), 0.95)
	require.NoError(t, err)
	for i, form := range []string{"ICC(1,1)", "ICC(2,1)", "ICC(3,1)", "ICC(1,4)", "ICC(2,4)", "ICC(3,4)"} {
		assert.InDelta(t, ref.Published.S[form], r.Forms[i].Value, 0.005, "as printed")
	}
	assert.InDelta(t, ref.Published.S["between_targets_ms"], r.MSTargets, 0.005, "as printed")
	assert.InDelta(t, ref.Published.S["between_judges_ms"], r.MSRaters, 0.005, "as printed")
	assert.InDelta(t, ref.Published.S["within_ms"], r.MSWithin, 0.005, "as printed")
	assert.InDelta(t, ref.Published.S["residual_ms"], r.MSResidual, 0.005, "as printed")

	var flow struct {
		ICC struct{ ICC map[string][3]float64 } `json:"icc_first_wright_mini"`
	}
	reference(t, "bland_altman.json", &flow)
	r, err = Intraclass(transposed(columns(t, "pefr.csv", nil, "wright1", "mini1")), 0.95)
	require.NoError(t, err)
	require.Len(t, flow.ICC.ICC, 6)
	for _, f := range r.Forms {
		want := flow.ICC.ICC[f.Form]
		near(t, want[0], f.Value, exact, f.Form)
		pair(t, [2]float64{want[1], want[2]}, Interval{f.Lo, f.Hi}, f.Form)
	}
}

func transposed(cols [][]float64) [][]float64 {
	out := make([][]float64, len(cols[0]))
	for i := range out {
		for _, c := range cols {
			out[i] = append(out[i], c[i])
		}
	}
	return out
}

// As Bland and Altman print it in 1986, with 2 standard deviations and sqrt(3/n).
func TestBlandAltmanAsPrinted(t *testing.T) {
	var ref struct {
		Published struct {
			First struct {
				Bias  float64 `json:"mean_difference"`
				SD    float64
				SE    float64    `json:"se_mean"`
				CI    [2]float64 `json:"ci95_mean"`
				Limit [2]float64 `json:"limits_2sd"`
				R     float64
			} `json:"first_measurement"`
			Repeat struct {
				Wright float64 `json:"wright_sd"`
				Mini   float64 `json:"mini_sd"`
			} `json:"repeatability"`
			Means struct {
				Bias float64 `json:"absolute_mean_difference"`
				SD   float64 `json:"sd_corrected"`
			} `json:"means_of_two"`
		}
	}
	reference(t, "bland_altman.json", &ref)
	want := ref.Published
	d := columns(t, "pefr.csv", nil, "wright1", "wright2", "mini1", "mini2")
	r, err := Agreement(d[0], d[2])
	require.NoError(t, err)
	assert.InDelta(t, want.First.Bias, r.Bias.Value, 0.05)
	assert.InDelta(t, want.First.SD, r.SD, 0.05)
	assert.InDelta(t, want.First.SE, r.Bias.SE, 0.05)
	ci := r.Bias.Interval(0.95)
	assert.InDelta(t, want.First.CI[0], ci.Lo, 0.1)
	assert.InDelta(t, want.First.CI[1], ci.Hi, 0.1)
	// They round the mean and the standard deviation first.
	assert.InDelta(t, want.First.Limit[0], r.Bias.Value-2*r.SD, 0.15)
	assert.InDelta(t, want.First.Limit[1], r.Bias.Value+2*r.SD, 0.15)
	for i, sd := range []float64{want.Repeat.Wright, want.Repeat.Mini} {
		p, err := Precision(d[2*i], d[2*i+1])
		require.NoError(t, err)
		assert.InDelta(t, sd, p.SD, 0.06)
	}
	both := func(a, b []float64) [][]float64 { return transposed([][]float64{a, b}) }
	r, err = AgreementRepeated(both(d[0], d[1]), both(d[2], d[3]), nil)
	require.NoError(t, err)
	assert.InDelta(t, want.Means.Bias, math.Abs(r.Bias.Value), 0.05)
	assert.InDelta(t, want.Means.SD, r.SD, 0.05)
}

// A balanced study: lme4 1.1-31; TestCrossed has the same by analysis of variance.
func TestCrossedIsREML(t *testing.T) {
	var ref struct {
		REML map[string]float64 `json:"variance_components_reml"`
	}
	reference(t, "crossed_20x3x2.json", &ref)
	d := columns(t, "crossed_20x3x2.csv", nil, "hip", "observer", "penetration")
	x := make([][][]float64, 20)
	for i := range x {
		x[i] = make([][]float64, 3)
	}
	for i, v := range d[2] {
		cell := &x[int(d[0][i])-1][int(d[1][i])-1]
		*cell = append(*cell, v)
	}
	c, err := Crossed(x)
	require.NoError(t, err)
	// The reference fit stopped at lme4's default tolerance.
	near(t, ref.REML["hip"], c.Target, 1e-4, "target")
	near(t, ref.REML["observer"], c.Reader, 1e-4, "reader")
	near(t, ref.REML["hip:observer"], c.Interaction, 1e-4, "interaction")
	near(t, ref.REML["Residual"], c.Repeat, 1e-4, "repeat")
}
