package wearfit

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// exact is the relative tolerance against R's formulas.
const exact = 1e-8

func pair(t *testing.T, want [2]float64, got Interval, what string) {
	t.Helper()
	near(t, want[0], got.Lo, exact, what+", lower")
	near(t, want[1], got.Hi, exact, what+", upper")
}

// Peak flow by two meters: Bland JM, Altman DG. Lancet 1986;1:307-310; R
// 4.2.2, epiR 2.0.57.
func TestBlandAltman(t *testing.T) {
	var ref struct {
		First struct {
			Mean       float64 `json:"mean_difference"`
			SD         float64
			SEMean     float64    `json:"se_mean"`
			CIMean     [2]float64 `json:"ci95_mean"`
			P          float64    `json:"t_test_p"`
			Limits     [2]float64 `json:"limits_1.96"`
			SELimit    float64    `json:"se_limit_1999"`
			Lower      [2]float64 `json:"ci95_lower_limit_1999"`
			Upper      [2]float64 `json:"ci95_upper_limit_1999"`
			LowerExact [2]float64 `json:"ci95_lower_limit_exact"`
			UpperExact [2]float64 `json:"ci95_upper_limit_exact"`
			LowerMover [2]float64 `json:"ci95_lower_limit_mover"`
			UpperMover [2]float64 `json:"ci95_upper_limit_mover"`
			OnMean     struct {
				Slope float64
				SE    float64 `json:"slope_se"`
				P     float64 `json:"slope_p"`
			} `json:"difference_on_mean"`
		} `json:"first_measurement"`
		Means struct {
			Mean float64 `json:"mean_difference"`
			SD   float64 `json:"sd_corrected_repeat_sd_about_zero"`
		} `json:"means_of_two"`
		Wright repeated `json:"repeatability_wright"`
		Mini   repeated `json:"repeatability_mini"`
		First2 lin      `json:"concordance_first"`
		Repeat lin      `json:"concordance_wright_repeats"`
	}
	reference(t, "bland_altman.json", &ref)
	d := columns(t, "pefr.csv", nil, "wright1", "wright2", "mini1", "mini2")
	r, err := Agreement(d[0], d[2])
	require.NoError(t, err)
	f := ref.First
	near(t, f.Mean, r.Bias.Value, exact, "bias")
	near(t, f.SD, r.SD, exact, "sd")
	near(t, f.SEMean, r.Bias.SE, exact, "se")
	pair(t, f.CIMean, r.Bias.Interval(0.95), "bias")
	near(t, f.P, r.Bias.P(0), exact, "p")
	near(t, f.Limits[0], r.Lower, exact, "lower")
	near(t, f.Limits[1], r.Upper, exact, "upper")
	near(t, f.SELimit, r.SELimit, exact, "se of a limit")
	lo, hi := r.LimitsApprox(0.95)
	pair(t, f.Lower, lo, "approximate, lower limit")
	pair(t, f.Upper, hi, "approximate, upper limit")
	lo, hi = r.LimitsExact(0.95)
	pair(t, f.LowerExact, lo, "exact, lower limit")
	pair(t, f.UpperExact, hi, "exact, upper limit")
	lo, hi = r.LimitsRecovered(0.95)
	pair(t, f.LowerMover, lo, "recovered, lower limit")
	pair(t, f.UpperMover, hi, "recovered, upper limit")
	near(t, f.OnMean.Slope, r.Proportional.Value, exact, "slope on the mean")
	near(t, f.OnMean.SE, r.Proportional.SE, exact, "its se")
	near(t, f.OnMean.P, r.Proportional.P(0), exact, "its p")
	// As printed in 1986: 2 SD and sqrt(3/n) were used there.
	assert.InDelta(t, -2.1, r.Bias.Value, 0.05)
	assert.InDelta(t, 38.8, r.SD, 0.05)

	// Readings of each subject by each meter.
	wright, mini := make([][]float64, 17), make([][]float64, 17)
	for i := range wright {
		wright[i], mini[i] = []float64{d[0][i], d[1][i]}, []float64{d[2][i], d[3][i]}
	}
	rep, err := AgreementRepeated(wright, mini, nil)
	require.NoError(t, err)
	near(t, ref.Means.Mean, rep.Bias.Value, exact, "bias of the means")
	near(t, ref.Means.SD, rep.SD, exact, "sd corrected for repeats")
	ref.Wright.check(t, wright, d[0], d[1])
	ref.Mini.check(t, mini, d[2], d[3])
	ref.First2.check(t, d[0], d[2])
	ref.Repeat.check(t, d[0], d[1])
}

// The intervals of the limits with repeated readings hold the true limits in
// 93 to 97 % of simulated studies; with single readings they are Zou's.
func TestAgreementRepeatedLimits(t *testing.T) {
	if testing.Short() {
		t.Skip("simulation")
	}
	r := rand.New(rand.NewPCG(6, 2))
	const runs, bias, own, first, second = 4000, 0.03, 0.08, 0.1, 0.06
	// One reading each: a target's own difference and both readers' errors.
	limit := bias + limitsAt*math.Sqrt(own*own+first*first+second*second)
	recovered, approximate := 0, 0
	for range runs {
		a, b := make([][]float64, 25), make([][]float64, 25)
		for i := range a {
			d := bias + own*r.NormFloat64()
			for range 2 + i%2 {
				a[i] = append(a[i], d+first*r.NormFloat64())
			}
			b[i] = []float64{second * r.NormFloat64(), second * r.NormFloat64()}
		}
		m, err := AgreementRepeated(a, b, nil)
		require.NoError(t, err)
		if _, hi := m.LimitsRecovered(0.95); hi.Contains(limit) {
			recovered++
		}
		if _, hi := m.LimitsApprox(0.95); hi.Contains(limit) {
			approximate++
		}
	}
	t.Logf("limit held: recovered %.4f, approximate %.4f of %d", float64(recovered)/runs, float64(approximate)/runs, runs)
	assert.InDelta(t, 0.95, float64(recovered)/runs, 0.02)
	assert.InDelta(t, 0.95, float64(approximate)/runs, 0.03)

	x, y := []float64{1, 2, 3, 5}, []float64{1.2, 1.9, 3.1, 4.8}
	single, err := Agreement(x, y)
	require.NoError(t, err)
	lone, err := AgreementRepeated([][]float64{{1}, {2}, {3}, {5}}, [][]float64{{1.2}, {1.9}, {3.1}, {4.8}}, nil)
	require.NoError(t, err)
	assert.Equal(t, single, lone)
}

type repeated struct {
	Mean    float64    `json:"mean_difference"`
	Zero    float64    `json:"sd_differences_about_zero"`
	Within  float64    `json:"within_subject_sd"`
	RC      float64    `json:"repeatability_1.96sqrt2sw"`
	CI      [2]float64 `json:"ci95_within_subject_sd"`
	Percent float64    `json:"cv_percent"`
	Double  struct {
		Normal  float64 `json:"sd_times_1.96_about_zero"`
		Student float64 `json:"t_times_sd_about_zero"`
	} `json:"double_examination_95"`
}

func (w repeated) check(t *testing.T, readings [][]float64, first, second []float64) {
	t.Helper()
	r, err := Repeat(readings)
	require.NoError(t, err)
	near(t, w.Within, r.SD, exact, "within sd")
	near(t, w.RC, r.Coefficient, exact, "repeatability coefficient")
	near(t, w.Percent, r.Percent, exact, "percent")
	pair(t, w.CI, r.Interval(0.95), "within sd")
	d, err := Precision(first, second)
	require.NoError(t, err)
	near(t, w.Mean, d.Mean, exact, "mean difference")
	near(t, w.Zero, d.SD, exact, "sd about zero")
	near(t, w.Within, d.Within, exact, "within")
	near(t, w.Double.Normal, d.Normal, exact, "1.96 sd")
	near(t, w.Double.Student, d.Student, exact, "t sd")
}

type lin struct {
	N       float64 `json:"ccc_n"`
	EpiR    struct{ Lower, Upper float64 }
	Bias    float64 `json:"bias_correction"`
	Pearson float64
}

func (w lin) check(t *testing.T, a, b []float64) {
	t.Helper()
	c, err := Concord(a, b)
	require.NoError(t, err)
	near(t, w.N, c.Value, exact, "concordance")
	near(t, w.Pearson, c.Pearson, exact, "pearson")
	pair(t, [2]float64{w.EpiR.Lower, w.EpiR.Upper}, c.Interval(0.95), "concordance")
}

// Shrout PE, Fleiss JL. Psychol Bull 1979;86:420-428, table 4: .17 .29 .71 .44
// .62 .91; psych 2.2.9 and the formulas agree.
func TestIntraclass(t *testing.T) {
	type set struct {
		Formulas struct {
			MS struct {
				Targets  float64 `json:"between_targets"`
				Judges   float64 `json:"between_judges"`
				Within   float64 `json:"within_targets"`
				Residual float64
			} `json:"mean_squares"`
			ICC            map[string][3]float64
			SEMAgreement   float64 `json:"sem_agreement"`
			SEMConsistency float64 `json:"sem_consistency"`
			SDCAgreement   float64 `json:"sdc95_agreement"`
			SDCConsistency float64 `json:"sdc95_consistency"`
		}
	}
	var ref struct {
		Shrout    set `json:"shrout_fleiss"`
		Observers set `json:"observers_40x3"`
	}
	reference(t, "icc.json", &ref)
	for _, c := range []struct {
		name string
		want set
		cols [][]float64
	}{
		{"shrout_fleiss.csv", ref.Shrout, columns(t, "shrout_fleiss.csv", nil, "judge1", "judge2", "judge3", "judge4")},
		{"observers_40x3.csv", ref.Observers, columns(t, "observers_40x3.csv", nil, "observer1", "observer2", "observer3")},
	} {
		t.Run(c.name, func(t *testing.T) {
			x := make([][]float64, len(c.cols[0]))
			for i := range x {
				for _, col := range c.cols {
					x[i] = append(x[i], col[i])
				}
			}
			r, err := Intraclass(x, 0.95)
			require.NoError(t, err)
			w := c.want.Formulas
			near(t, w.MS.Targets, r.MSTargets, exact, "targets")
			near(t, w.MS.Judges, r.MSRaters, exact, "raters")
			near(t, w.MS.Within, r.MSWithin, exact, "within")
			near(t, w.MS.Residual, r.MSResidual, exact, "residual")
			require.Len(t, w.ICC, 6)
			for _, f := range r.Forms {
				want, ok := w.ICC[f.Form]
				require.True(t, ok, f.Form)
				for i, got := range []float64{f.Value, f.Lo, f.Hi} {
					near(t, max(want[i], 0), got, 1e-7, f.Form) // a share of variance
				}
			}
			// The components of the same table.
			v, err := Crossed(crossedTable(long(x)))
			require.NoError(t, err)
			near(t, w.SEMAgreement, v.ReproducibilitySD().SD, 1e-6, "sem")
			near(t, w.SEMConsistency, v.ConsistencySD().SD, 1e-6, "sem, consistency")
			near(t, w.SDCAgreement, v.ReproducibilitySD().Limit(), 1e-6, "sdc")
			near(t, w.SDCConsistency, v.ConsistencySD().Limit(), 1e-6, "sdc, consistency")
			got := v.ConsistencyICC(0.95) // read once: exact, and the same
			for i, x := range []float64{got.Value, got.Lo, got.Hi} {
				near(t, w.ICC["ICC(3,1)"][i], x, 1e-6, got.Form)
			}
			near(t, w.ICC["ICC(2,1)"][0], v.AgreementICC(0.95).Value, 1e-6, "ICC(A,1)")
		})
	}
}

// Simulated 20 hips, 3 readers, 2 sessions; R 4.2.2 anova(lm).
func TestCrossed(t *testing.T) {
	var ref struct {
		Parts struct {
			Repeat      float64 `json:"repeatability"`
			Interaction float64 `json:"hip_by_observer"`
			Observer    float64
			Hip         float64
		} `json:"variance_components_anova"`
		R  float64 `json:"reproducibility_limit_1.96sqrt2"`
		Rr float64 `json:"repeatability_limit_1.96sqrt2"`
		E  float64 `json:"inter_icc_agreement"`
	}
	reference(t, "crossed_20x3x2.json", &ref)
	d := columns(t, "crossed_20x3x2.csv", nil, "hip", "observer", "session", "penetration")
	x := make([][][]float64, 20)
	for i := range d[0] {
		h, o := int(d[0][i])-1, int(d[1][i])-1
		if x[h] == nil {
			x[h] = make([][]float64, 3)
		}
		x[h][o] = append(x[h][o], d[3][i])
	}
	c, err := Crossed(x)
	require.NoError(t, err)
	near(t, ref.Parts.Repeat, c.Repeat, exact, "repeat")
	near(t, ref.Parts.Interaction, c.Interaction, exact, "interaction")
	near(t, ref.Parts.Observer, c.Reader, exact, "reader")
	near(t, ref.Parts.Hip, c.Target, exact, "target")
	near(t, ref.R, c.ReproducibilitySD().Limit(), exact, "reproducibility")
	near(t, ref.Rr, c.RepeatabilitySD().Limit(), exact, "repeatability")
	near(t, ref.E, c.AgreementICC(0.95).Value, exact, "inter")
}

func TestAgreementFaults(t *testing.T) {
	var few *TooFewError
	_, err := Agreement([]float64{1, 2}, []float64{1, 2})
	require.ErrorAs(t, err, &few)
	_, err = Repeat([][]float64{{1}, {2}})
	require.ErrorAs(t, err, &few)
	_, err = Intraclass([][]float64{{1, 2}}, 0.95)
	require.ErrorAs(t, err, &few)
	_, err = Intraclass([][]float64{{1, 2}, {1}}, 0.95)
	require.ErrorIs(t, err, ErrUnbalanced)
	_, err = Intraclass([][]float64{{1, 1}, {2, 2}}, 0.95)
	require.ErrorIs(t, err, ErrNoScatter)
	_, err = Concord([]float64{1, 1, 1}, []float64{1, 2, 3})
	require.ErrorIs(t, err, ErrNoScatter)
	_, err = AgreementRepeated([][]float64{{1}, {}}, [][]float64{{1}, {2}}, nil)
	require.ErrorAs(t, err, &few)
	same, err := Agreement([]float64{1, 2, 3}, []float64{1, 2, 3})
	require.NoError(t, err)
	lo, hi := same.LimitsExact(0.95)
	assert.Equal(t, Interval{}, lo)
	assert.Equal(t, Interval{}, hi)
}

// Twelve subjects' cardiac output by two methods, 60 pairs: Bland JM, Altman DG. J Biopharm
// Stat 2007;17:571-582, who print a SD of 0.99 and limits of -1.34 and 2.54 where the true
// value varies, and a SD of 1.05 where it is constant (with the mean over all pairs). Bias,
// its error, SD and limits with their intervals: R 4.2.2, anova(lm), Zou's formulas.
func TestAgreementOfSubjects(t *testing.T) {
	d := columns(t, "cardiac.csv", nil, "subject", "rv", "ic")
	var of []string
	var rv, ic [][]float64
	a, b := make([][]float64, 12), make([][]float64, 12)
	for i, s := range d[0] {
		of = append(of, strconv.Itoa(int(s)))
		rv, ic = append(rv, []float64{d[1][i]}), append(ic, []float64{d[2][i]})
		a[int(s)-1], b[int(s)-1] = append(a[int(s)-1], d[1][i]), append(b[int(s)-1], d[2][i])
	}
	varies, err := AgreementRepeated(rv, ic, of)
	require.NoError(t, err)
	constant, err := AgreementRepeated(a, b, nil)
	require.NoError(t, err)
	for _, c := range []struct {
		got  BlandAltman
		want [9]float64
	}{
		{varies, [9]float64{0.602166666667, 0.270368546952, 0.990624108026, -1.339456585065, -2.653899876798, -0.626473174804, 2.543789918399, 1.830806508138, 3.858233210132}},
		{constant, [9]float64{0.709236111111, 0.275785416860, 1.051850603220, -1.352391071200, -2.699204085423, -0.628366081674, 2.770863293422, 2.046838303896, 4.117676307645}},
	} {
		lower, upper := c.got.LimitsRecovered(0.95)
		for i, v := range []float64{c.got.Bias.Value, c.got.Bias.SE, c.got.SD, c.got.Lower, lower.Lo, lower.Hi, c.got.Upper, upper.Lo, upper.Hi} {
			near(t, c.want[i], v, 1e-8, strconv.Itoa(i))
		}
	}
	assert.InDelta(t, 11, varies.Bias.DF, 0)

	// Each on its own is no subject at all.
	for i := range of {
		of[i] = strconv.Itoa(i)
	}
	alone, err := AgreementRepeated(rv, ic, of)
	require.NoError(t, err)
	plain, err := AgreementRepeated(rv, ic, nil)
	require.NoError(t, err)
	assert.Equal(t, plain, alone)
	var few *TooFewError
	_, err = AgreementRepeated(rv, ic, make([]string, 60))
	require.ErrorAs(t, err, &few, "one subject")
	var long *LengthError
	_, err = AgreementRepeated(rv, ic, []string{"1"})
	require.ErrorAs(t, err, &long)
}
