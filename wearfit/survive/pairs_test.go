package survive

import (
	"maps"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pairs is 150 simulated liners of 90 patients, 60 of whom have two; times are rounded
// to half years, so that many are tied and one is 0.
type pairs struct {
	liners    []Liner
	untied    []Liner // each a little later than the one before
	group     map[string][]Liner
	columns   [][]float64 // rate, age, pe is b, pe is c
	clustered []Liner
}

func readPairs(t *testing.T) pairs {
	t.Helper()
	p := pairs{group: map[string][]Liner{}, columns: make([][]float64, 4)}
	is := func(yes bool) float64 {
		if yes {
			return 1
		}
		return 0
	}
	for i, m := range table(t, "liner_pairs.csv") {
		l := Liner{Years: number(t, m["years"]), Event: int(number(t, m["event"]))}
		p.liners = append(p.liners, l)
		p.group[m["pe"]] = append(p.group[m["pe"]], l)
		late := l
		late.Years += float64(i+1) / 1e4
		p.untied = append(p.untied, late)
		p.group[m["pe"]+" untied"] = append(p.group[m["pe"]+" untied"], late)
		for j, v := range []float64{number(t, m["rate"]), number(t, m["age"]), is(m["pe"] == "b"), is(m["pe"] == "c")} {
			p.columns[j] = append(p.columns[j], v)
		}
		l.Patient = m["patient"]
		p.clustered = append(p.clustered, l)
	}
	require.Len(t, p.liners, 150)
	return p
}

type rTest struct {
	Chisq, P float64
	DF       int
}

func (r rTest) check(t *testing.T, got Test, what string) {
	t.Helper()
	assert.InEpsilon(t, r.Chisq, got.ChiSquare, 1e-9, what)
	assert.InEpsilon(t, r.P, got.P, 1e-9, what)
	assert.Equal(t, r.DF, got.DF, what)
}

type rShares struct {
	Survival, SE, Lower, Upper []float64
	AtRisk                     []int `json:"at_risk"`
}

type rIncidence struct{ Share, SE, Lower, Upper [][]float64 }

type rCox struct {
	Coef, SE, Naive, LogLik, Lower, Upper []float64
	LRT, Score                            rTest
	Wald                                  float64
	RobustScore                           *rTest `json:"robust_score"`
	Zph                                   []rTest
}

func (r rCox) check(t *testing.T, h Hazards) {
	t.Helper()
	require.Len(t, h.Coef, len(r.Coef))
	p, m := float64(len(r.Coef)), float64(h.Failed)
	few := 1.0 // the correction for few patients, which R has not
	if h.Clustered {
		few = m / (m - p)
	}
	for j := range r.Coef {
		assert.InEpsilon(t, r.Coef[j], h.Coef[j].Value, 1e-7, "coefficient")
		assert.InEpsilon(t, r.SE[j]*math.Sqrt(few), h.Coef[j].SE, 1e-7, "standard error")
		assert.InEpsilon(t, r.Naive[j], h.Naive[j], 1e-7, "standard error of independent liners")
		if h.Clustered {
			assert.InEpsilon(t, r.SE[j], h.Robust[j], 1e-7, "standard error between patients")
			assert.InDelta(t, m-p, h.Coef[j].DF, 0)
			continue
		}
		_, ci := h.Ratio(j, 1, 0.95)
		assert.InEpsilon(t, r.Lower[j], ci.Lo, 1e-6)
		assert.InEpsilon(t, r.Upper[j], ci.Hi, 1e-6)
	}
	assert.InEpsilon(t, r.LogLik[0], h.NullLik, 1e-12)
	assert.InEpsilon(t, r.LogLik[1], h.LogLik, 1e-12)
	r.LRT.check(t, h.Likelihood, "likelihood ratio")
	r.Score.check(t, h.Score, "score")
	assert.InEpsilon(t, r.Wald/few, h.Wald.ChiSquare, 1e-7)
	if len(r.Coef) == 1 {
		assert.InEpsilon(t, h.Coef[0].P(0), h.Wald.P, 1e-9, "one column: Student's t squared")
	}
	if r.RobustScore != nil {
		r.RobustScore.check(t, h.RobustScore, "robust score")
	}
	columns, all := h.Proportional()
	require.Len(t, r.Zph, len(columns)+1)
	for j, c := range append(columns, all) {
		assert.InEpsilon(t, r.Zph[j].Chisq, c.ChiSquare, 1e-6, "proportional %d", j)
		assert.Equal(t, r.Zph[j].DF, c.DF)
	}
}

// R 4.2.2: survival 3.5-3 survfit(conf.type = "log-log", cluster = patient), survfit of
// states with influence = 1 (added up over patients), quantile, survdiff, coxph(ties =
// "efron", cluster = patient), cox.zph("km", terms = FALSE); cmprsk 2.2-11 cuminc.
func TestPairs(t *testing.T) {
	var ref struct {
		Years             []float64
		KM                rShares               `json:"kaplan_meier"`
		KMClustered       rShares               `json:"kaplan_meier_clustered"`
		Quantiles         map[string][]*float64 `json:"quantiles"`
		QuantileClustered map[string][]*float64 `json:"quantiles_clustered"`
		AJ                rIncidence            `json:"aalen_johansen"`
		AJClustered       rIncidence            `json:"aalen_johansen_clustered"`
		LogRank           struct {
			Chisq    float64
			Expected []float64
		} `json:"log_rank"`
		GrayThree  []rTest `json:"gray_three"`
		GrayTwo    []rTest `json:"gray_two"`
		GrayUntied []rTest `json:"gray_untied"`
		Cox        rCox
		Clustered  rCox `json:"cox_clustered"`
		Untied     rCox `json:"cox_untied"`
		RateAlone  rCox `json:"cox_rate_clustered"`
	}
	reference(t, "liner_pairs.json", &ref)
	p := readPairs(t)

	t.Run("Kaplan-Meier", func(t *testing.T) {
		for _, c := range []struct {
			liners   []Liner
			want     rShares
			quantile map[string][]*float64
			people   int
		}{{p.liners, ref.KM, ref.Quantiles, 150}, {p.clustered, ref.KMClustered, ref.QuantileClustered, 90}} {
			km, err := KaplanMeier(c.liners)
			require.NoError(t, err)
			assert.Equal(t, c.people, km.Patients)
			assert.Equal(t, c.people < 150, km.Clustered)
			for i, y := range ref.Years {
				s := km.At(y)
				assert.Equal(t, c.want.AtRisk[i], s.AtRisk)
				assert.InEpsilon(t, c.want.Survival[i], s.Value, 1e-12)
				assert.InEpsilon(t, c.want.SE[i], s.SE, 1e-11)
				assert.InEpsilon(t, c.want.Lower[i], s.Interval(0.95).Lo, 1e-9)
				assert.InEpsilon(t, c.want.Upper[i], s.Interval(0.95).Hi, 1e-9)
			}
			for i, q := range c.quantile["p"] {
				ends := km.QuantileInterval(*q, 0.95)
				for side, got := range map[string]float64{"lower": ends.Lo, "upper": ends.Hi} {
					if want := c.quantile[side][i]; want != nil {
						assert.InDelta(t, *want, got, 0, side)
					} else {
						assert.InDelta(t, infinite, got, 0, side)
					}
				}
			}
		}
	})
	t.Run("Aalen-Johansen", func(t *testing.T) {
		single, err := AalenJohansen(p.liners, ref.Years, 2)
		require.NoError(t, err)
		clustered, err := AalenJohansen(p.clustered, ref.Years, 2)
		require.NoError(t, err)
		for i := range ref.Years {
			both := append([]Share{clustered[i].Free}, clustered[i].Of...)
			for k, s := range append([]Share{single[i].Free}, single[i].Of...) {
				assert.InEpsilon(t, ref.AJ.Share[i][k], s.Value, 1e-12)
				assert.InEpsilon(t, ref.AJ.SE[i][k], s.SE, 1e-11)
				assert.InEpsilon(t, ref.AJ.Lower[i][k], s.Interval(0.95).Lo, 1e-9)
				assert.InEpsilon(t, ref.AJ.Upper[i][k], s.Interval(0.95).Hi, 1e-9)
				assert.InEpsilon(t, ref.AJClustered.SE[i][k], both[k].SE, 1e-11)
			}
		}
	})
	t.Run("groups", func(t *testing.T) {
		r, err := LogRank(p.group["a"], p.group["b"], p.group["c"])
		require.NoError(t, err)
		assert.InEpsilon(t, ref.LogRank.Chisq, r.ChiSquare, 1e-10)
		assert.InEpsilonSlice(t, ref.LogRank.Expected, r.Expected, 1e-10)
		for k := range 2 {
			g, err := Gray(k+1, p.group["a"], p.group["b"], p.group["c"])
			require.NoError(t, err)
			ref.GrayThree[k].check(t, g, "three groups")
			g, err = Gray(k+1, p.group["a"], p.group["b"])
			require.NoError(t, err)
			ref.GrayTwo[k].check(t, g, "two groups")
			g, err = Gray(k+1, p.group["a untied"], p.group["b untied"], p.group["c untied"])
			require.NoError(t, err)
			ref.GrayUntied[k].check(t, g, "without ties")
		}
	})
	t.Run("Cox", func(t *testing.T) {
		for _, c := range []struct {
			liners  []Liner
			columns [][]float64
			want    rCox
		}{{p.liners, p.columns, ref.Cox}, {p.clustered, p.columns, ref.Clustered}, {p.untied, p.columns[:1], ref.Untied}, {p.clustered, p.columns[:1], ref.RateAlone}} {
			h, err := Cox(c.liners, c.columns)
			require.NoError(t, err)
			if h.Clustered {
				failed := map[string]bool{}
				for _, l := range c.liners {
					failed[l.Patient] = failed[l.Patient] || l.Event == Revised
				}
				maps.DeleteFunc(failed, func(_ string, revised bool) bool { return !revised })
				assert.Len(t, failed, h.Failed)
			}
			c.want.check(t, h)
		}
	})
}

// 6-mercaptopurine against placebo and leukaemia maintained or not: coxph of survival
// 3.5-3 with Efron's ties.
func TestCoxClassic(t *testing.T) {
	type cox struct {
		Coef, SE, HR, LRT float64
		CI                []float64 `json:"ci95"`
	}
	var ref struct {
		AML struct {
			Cox cox `json:"cox_efron"`
		}
		Leukaemia struct {
			Cox cox `json:"cox_efron"`
		} `json:"leukaemia_6mp"`
	}
	reference(t, "kaplan_meier.json", &ref)
	for _, c := range []struct {
		file, base, other string
		want              cox
	}{{"aml.csv", "Maintained", "Nonmaintained", ref.AML.Cox}, {"leukaemia_6mp.csv", "6-MP", "placebo", ref.Leukaemia.Cox}} {
		liners := observed(t, c.file, "time", "status", c.base)
		other := make([]float64, len(liners))
		for _, l := range observed(t, c.file, "time", "status", c.other) {
			liners, other = append(liners, l), append(other, 1)
		}
		h, err := Cox(liners, [][]float64{other})
		require.NoError(t, err)
		assert.InEpsilon(t, c.want.Coef, h.Coef[0].Value, 1e-8)
		assert.InEpsilon(t, c.want.SE, h.Coef[0].SE, 1e-8)
		assert.InEpsilon(t, c.want.LRT, h.Likelihood.ChiSquare, 1e-9)
		hr, ci := h.Ratio(0, 1, 0.95)
		assert.InEpsilon(t, c.want.HR, hr, 1e-8)
		assert.InEpsilonSlice(t, c.want.CI, []float64{ci.Lo, ci.Hi}, 1e-7)
		turned, ends := h.Ratio(0, -1, 0.95)
		assert.InEpsilon(t, 1/hr, turned, 1e-12)
		assert.InEpsilon(t, 1/ci.Lo, ends.Hi, 1e-12)
	}
}

// A column in other units gives the same tests, and the hazard ratio of a step.
func TestCoxUnits(t *testing.T) {
	p := readPairs(t)
	mm, err := Cox(p.clustered, p.columns[:2])
	require.NoError(t, err)
	micro := make([]float64, len(p.columns[0]))
	for i, v := range p.columns[0] {
		micro[i] = 5 + 1000*v
	}
	um, err := Cox(p.clustered, [][]float64{micro, p.columns[1]})
	require.NoError(t, err)
	assert.InEpsilon(t, mm.Wald.ChiSquare, um.Wald.ChiSquare, 1e-9)
	assert.InEpsilon(t, mm.Likelihood.ChiSquare, um.Likelihood.ChiSquare, 1e-9)
	a, x := mm.Ratio(0, 0.1, 0.95)
	b, y := um.Ratio(0, 100, 0.95)
	assert.InEpsilon(t, a, b, 1e-9)
	assert.InEpsilon(t, x.Lo, y.Lo, 1e-9)
}

// Two liners of one patient that fail together are one liner.
func TestTwins(t *testing.T) {
	p := readPairs(t)
	var twins []Liner
	var rate []float64
	for i, l := range p.untied {
		l.Patient = string(rune('a'+i%26)) + string(rune('a'+i/26))
		twins, rate = append(twins, l, l), append(rate, p.columns[0][i], p.columns[0][i])
	}
	one, err := KaplanMeier(p.untied)
	require.NoError(t, err)
	two, err := KaplanMeier(twins)
	require.NoError(t, err)
	require.True(t, two.Clustered)
	for _, y := range []float64{1, 5, 10} {
		assert.InEpsilon(t, one.At(y).Value, two.At(y).Value, 1e-12)
		assert.InEpsilon(t, one.At(y).SE, two.At(y).SE, 1e-9)
	}
	inc, err := AalenJohansen(p.untied, []float64{5}, 2)
	require.NoError(t, err)
	both, err := AalenJohansen(twins, []float64{5}, 2)
	require.NoError(t, err)
	assert.InEpsilon(t, inc[0].Of[0].SE, both[0].Of[0].SE, 1e-9)
	h, err := Cox(twins, [][]float64{rate})
	require.NoError(t, err)
	assert.InEpsilon(t, 2, (h.Coef[0].SE/h.Naive[0])*(h.Coef[0].SE/h.Naive[0]), 0.25, "twice the variance, about")
}

// The order of rows and the names of patients change nothing.
func TestOrder(t *testing.T) {
	p := readPairs(t)
	n := len(p.clustered)
	turned, columns := make([]Liner, n), [][]float64{make([]float64, n)}
	for i, l := range p.clustered {
		l.Patient = "x" + l.Patient
		turned[n-1-i], columns[0][n-1-i] = l, p.columns[0][i]
	}
	a, err := Cox(p.clustered, p.columns[:1])
	require.NoError(t, err)
	b, err := Cox(turned, columns)
	require.NoError(t, err)
	assert.InEpsilon(t, a.Coef[0].Value, b.Coef[0].Value, 1e-9)
	assert.InEpsilon(t, a.Coef[0].SE, b.Coef[0].SE, 1e-9)
	x, err := KaplanMeier(p.clustered)
	require.NoError(t, err)
	y, err := KaplanMeier(turned)
	require.NoError(t, err)
	assert.InEpsilon(t, x.At(7).SE, y.At(7).SE, 1e-12)

}
