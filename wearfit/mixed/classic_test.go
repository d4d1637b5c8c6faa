package mixed

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/wearfit"
)

// lmer is a fit of lme4 1.1-31 (bobyqa to 1e-11), Satterthwaite by lmerTest
// 3.1-3.
type lmer struct {
	Fixed     map[string]float64
	SE        map[string]float64 `json:"fixed_se"`
	Cov       [][]float64        `json:"fixed_cov"`
	RandomCov [][]float64        `json:"random_cov"`
	Residual  float64            `json:"residual_sd"`
	LogLik    float64
	AIC, BIC  float64
	Criterion float64                                   `json:"criterion_value"`
	Wald      struct{ Lower, Upper map[string]float64 } `json:"ci95_wald_normal"`
	Singular  bool
	DF        map[string]float64                        `json:"satterthwaite_df"`
	P         map[string]float64                        `json:"satterthwaite_p"`
	CI        struct{ Lower, Upper map[string]float64 } `json:"ci95_satterthwaite"`
	Modes     struct {
		Group   []string
		Effects [][]float64
		SD      [][]float64 `json:"conditional_sd"`
	} `json:"conditional_modes_first"`
}

// mixedTable reads a table for a mixed model with the columns 1 and time; by
// adds a group, 1 where the column has the value, and its product with time.
func mixedTable(t *testing.T, file, hip, time, value, by, one string) Data {
	t.Helper()
	f, err := os.Open("testdata/" + file)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	at := map[string]int{}
	for i, h := range rows[0] {
		at[h] = i
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	d := Data{Fixed: make([][]float64, 2), Names: []string{"(Intercept)", time}}
	if by != "" {
		d.Fixed = make([][]float64, 4)
		d.Names = append(d.Names, by+one, time+":"+by+one)
	}
	for _, r := range rows[1:] {
		d.Hip = append(d.Hip, r[at[hip]])
		x := number(r[at[time]])
		d.Time = append(d.Time, x)
		d.Value = append(d.Value, number(r[at[value]]))
		row := []float64{1, x}
		if by != "" {
			g := 0.0
			if r[at[by]] == one {
				g = 1
			}
			row = append(row, g, g*x)
		}
		for j, v := range row {
			d.Fixed[j] = append(d.Fixed[j], v)
		}
	}
	return d
}

// check compares log-likelihoods to 1e-6 and parameters to 1e-5 of themselves;
// a zero among the variances to 1e-6 of the residual variance.
func (r lmer) check(t *testing.T, m Model, time string) {
	t.Helper()
	assert.True(t, m.Converged)
	assert.InDelta(t, r.LogLik, m.LogLik, 1e-6, "log-likelihood")
	assert.InDelta(t, r.AIC, m.AIC(), 1e-5, "AIC")
	assert.InDelta(t, r.BIC, -2*m.LogLik+float64(m.Params)*math.Log(float64(m.N)), 1e-5, "BIC")
	assert.InDelta(t, r.Criterion, -2*m.LogLik, 1e-5, "criterion")
	near(t, r.Residual, m.Sigma, 1e-5, "residual sd")
	assert.Equal(t, r.Singular, m.Singular, "singular")
	for j, name := range m.Names {
		near(t, r.Fixed[name], m.Coef[j], 1e-5, name)
		e := m.Estimate(j)
		near(t, r.SE[name], e.SE, 1e-5, "se of "+name)
		normal := wearfit.Estimate{Value: e.Value, SE: e.SE, DF: math.Inf(1)}.Interval(0.95)
		near(t, r.Wald.Lower[name], normal.Lo, 1e-4, "normal, lower "+name)
		near(t, r.Wald.Upper[name], normal.Hi, 1e-4, "normal, upper "+name)
		for k := range m.Names {
			near(t, r.Cov[j][k], m.Cov.At(j, k), 5e-5, "covariance of the fixed effects")
		}
		if r.DF != nil {
			near(t, r.DF[name], m.Estimate(j).DF, 1e-3, "df of "+name)
			ci := m.Estimate(j).Interval(0.95)
			near(t, r.CI.Lower[name], ci.Lo, 1e-4, "lower "+name)
			near(t, r.CI.Upper[name], ci.Hi, 1e-4, "upper "+name)
			if r.P[name] < 1e-200 {
				continue // the logarithm of 0
			}
			near(t, math.Log(r.P[name]), math.Log(e.P(0)), 2e-3, "log p of "+name)
		}
	}
	a, b, c := m.RandomCov()
	near(t, r.RandomCov[0][0], a, 2e-5, "variance of the intercept")
	if len(r.RandomCov) == 2 {
		near(t, r.RandomCov[0][1], b, 1e-4, "covariance")
		near(t, r.RandomCov[1][1], c, 5e-5, "variance of the slope")
	}
	for i, hip := range r.Modes.Group {
		e, ok := m.Hip(hip)
		require.True(t, ok)
		assert.InDelta(t, r.Modes.Effects[i][0], e.Intercept, 1e-4*m.SDIntercept, "effect on the intercept")
		if len(r.RandomCov) == 1 { // the reference holds these in one row
			near(t, r.Modes.SD[0][i], e.SDIntercept, 1e-4, "its sd")
			continue
		}
		near(t, r.Modes.SD[i][0], e.SDIntercept, 1e-4, "its sd")
		if len(r.Modes.Effects[i]) == 2 {
			assert.InDelta(t, r.Modes.Effects[i][1], e.Slope, 1e-4*m.SDSlope, "effect on the slope")
			near(t, r.Modes.SD[i][1], e.SDSlope, 1e-4, "its sd")
		}
	}
}

// Belenky G et al. J Sleep Res 2003;12:1-12; Potthoff RF, Roy SN. Biometrika
// 1964;51:313-326; complete, unbalanced, and at the boundary.
func TestMixedClassic(t *testing.T) {
	type set struct {
		SlopeREML     lmer `json:"random_slope_reml"`
		SlopeML       lmer `json:"random_slope_ml"`
		InterceptREML lmer `json:"random_intercept_reml"`
		InterceptML   lmer `json:"random_intercept_ml"`
		Uncorrelated  struct {
			SD     []float64 `json:"random_sd"`
			LogLik float64
			Fixed  map[string]float64
		} `json:"uncorrelated_reml"`
		LR struct {
			Statistic float64
			P2        float64 `json:"p_chi2_2df"`
			Mixture   float64 `json:"p_mixture_1_2"`
		} `json:"lr_test_slope_variance"`
	}
	var sets struct {
		Sleepstudy           set
		SleepstudyUnbalanced set `json:"sleepstudy_unbalanced"`
		Orthodont            set
		OrthodontUnbalanced  set `json:"orthodont_unbalanced"`
		OrthodontBoundary    set `json:"orthodont_boundary"`
	}
	reference(t, "classic.json", &sets)
	for _, c := range []struct {
		name, file, hip, time, value string
		want                         set
	}{
		{"sleep", "sleepstudy.csv", "Subject", "Days", "Reaction", sets.Sleepstudy},
		{"sleep unbalanced", "sleepstudy_unbalanced.csv", "Subject", "Days", "Reaction", sets.SleepstudyUnbalanced},
		{"teeth", "orthodont.csv", "Subject", "age", "distance", sets.Orthodont},
		{"teeth unbalanced", "orthodont_unbalanced.csv", "Subject", "age", "distance", sets.OrthodontUnbalanced},
		{"teeth at the boundary", "orthodont_boundary.csv", "Subject", "age", "distance", sets.OrthodontBoundary},
	} {
		d := mixedTable(t, c.file, c.hip, c.time, c.value, "", "")
		var slope, intercept Model
		for _, f := range []struct {
			name string
			o    Options
			want lmer
			keep *Model
		}{
			{"slope REML", Options{}, c.want.SlopeREML, &slope},
			{"slope ML", Options{ML: true}, c.want.SlopeML, nil},
			{"intercept REML", Options{Random: InterceptOnly}, c.want.InterceptREML, &intercept},
			{"intercept ML", Options{Random: InterceptOnly, ML: true}, c.want.InterceptML, nil},
		} {
			t.Run(c.name+", "+f.name, func(t *testing.T) {
				m, err := Fit(d, f.o)
				require.NoError(t, err)
				f.want.check(t, m, c.time)
				if f.keep != nil {
					*f.keep = m
				}
			})
		}
		t.Run(c.name+", uncorrelated", func(t *testing.T) {
			m, err := Fit(d, Options{Random: Uncorrelated})
			require.NoError(t, err)
			want := c.want.Uncorrelated
			assert.InDelta(t, want.LogLik, m.LogLik, 1e-6)
			// The reference fit stopped at its default tolerance.
			near(t, want.SD[0], m.SDIntercept, 2e-3, "sd of the intercept")
			near(t, want.SD[1], m.SDSlope, 2e-3, "sd of the slope")
			near(t, want.SD[2], m.Sigma, 1e-4, "residual sd")
		})
		t.Run(c.name+", likelihood ratio", func(t *testing.T) {
			l, err := LikelihoodRatio(slope, intercept)
			require.NoError(t, err)
			assert.InDelta(t, c.want.LR.Statistic, l.Statistic, 1e-5)
			near(t, c.want.LR.P2, l.P, 1e-4, "p")
			near(t, c.want.LR.Mixture, l.Mixture, 1e-4, "p of the mixture")
		})
	}
}
