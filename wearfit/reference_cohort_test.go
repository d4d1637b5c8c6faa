package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

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
