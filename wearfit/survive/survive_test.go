package survive

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// table reads the rows of testdata/name by column.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, h := range rows[0] {
			m[h] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// reference reads testdata/name.
func reference(t *testing.T, name string, v any) {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, v))
}

// observed reads a table of times and events, the rows of one group or all.
func observed(t *testing.T, file, time, event, group string) []Liner {
	t.Helper()
	var out []Liner
	for _, m := range table(t, file) {
		if group == "" || m["group"] == group {
			out = append(out, Liner{Years: number(t, m[time]), Event: int(number(t, m[event]))})
		}
	}
	return out
}

type rCurve struct {
	Time     []float64
	Risk     []int `json:"n_risk"`
	Event    []int `json:"n_event"`
	Censor   []int `json:"n_censor"`
	Survival []float64
	SE       []*float64                                  `json:"se_greenwood"`
	Lower    []*float64                                  `json:"lower95_log-log"`
	Upper    []*float64                                  `json:"upper95_log-log"`
	Quantile struct{ Estimate, Lower, Upper []*float64 } `json:"quantiles_25_50_75_log-log"`
}

func (r rCurve) check(t *testing.T, c Curve) {
	t.Helper()
	require.Len(t, c.Steps, len(r.Time))
	for i, s := range c.Steps {
		assert.InDelta(t, r.Time[i], s.Years, 0)
		assert.Equal(t, r.Risk[i], s.AtRisk)
		assert.Equal(t, r.Event[i], s.Events)
		assert.Equal(t, r.Censor[i], s.Censored)
		assert.InDelta(t, r.Survival[i], s.Value, 1e-12)
		if s.Value == 0 {
			continue // R has no interval; see TestNoEvent
		}
		assert.InDelta(t, *r.SE[i], s.SE, 1e-12)
		assert.InDelta(t, *r.Lower[i], s.Interval(0.95).Lo, 1e-9)
		assert.InDelta(t, *r.Upper[i], s.Interval(0.95).Hi, 1e-9)
	}
	for i, p := range []float64{0.25, 0.5, 0.75} {
		ends := c.QuantileInterval(p, 0.95)
		assert.InDelta(t, *r.Quantile.Lower[i], ends.Lo, 0)
		if r.Quantile.Upper[i] == nil {
			assert.True(t, ends.Open())
		} else {
			assert.InDelta(t, *r.Quantile.Upper[i], ends.Hi, 0)
		}
		got, ok := c.Quantile(p)
		if r.Quantile.Estimate[i] == nil {
			assert.False(t, ok)
			continue
		}
		assert.InDelta(t, *r.Quantile.Estimate[i], got, 0)
	}
}

// Miller RG. Survival Analysis. Wiley 1981 (acute myelogenous leukaemia);
// Freireich EJ et al. Blood 1963;21:699-716 (6-mercaptopurine); survival
// 3.5-3: survfit(conf.type = "log-log"), survdiff.
func TestKaplanMeier(t *testing.T) {
	type test struct {
		Chisq, P           float64
		Observed, Expected []float64
	}
	var ref struct {
		AML struct {
			Maintained, Nonmaintained rCurve
			LogRank                   test `json:"log_rank"`
		}
		Leukaemia struct {
			SixMP   rCurve `json:"6-MP"`
			Placebo rCurve
			LogRank test `json:"log_rank"`
		} `json:"leukaemia_6mp"`
	}
	reference(t, "kaplan_meier.json", &ref)
	for _, c := range []struct {
		name, file string
		groups     [2]string
		want       [2]rCurve
		rank       test
	}{
		{"leukaemia", "aml.csv", [2]string{"Maintained", "Nonmaintained"},
			[2]rCurve{ref.AML.Maintained, ref.AML.Nonmaintained}, ref.AML.LogRank},
		{"6-MP", "leukaemia_6mp.csv", [2]string{"6-MP", "placebo"},
			[2]rCurve{ref.Leukaemia.SixMP, ref.Leukaemia.Placebo}, ref.Leukaemia.LogRank},
	} {
		t.Run(c.name, func(t *testing.T) {
			var groups [][]Liner
			for i, g := range c.groups {
				obs := observed(t, c.file, "time", "status", g)
				km, err := KaplanMeier(obs)
				require.NoError(t, err)
				c.want[i].check(t, km)
				groups = append(groups, obs)
			}
			r, err := LogRank(groups...)
			require.NoError(t, err)
			assert.InEpsilon(t, c.rank.Chisq, r.ChiSquare, 1e-10)
			assert.InEpsilon(t, c.rank.P, r.P, 1e-9)
			assert.InDeltaSlice(t, c.rank.Observed, r.Observed, 0)
			assert.InDeltaSlice(t, c.rank.Expected, r.Expected, 1e-10)
		})
	}
}

// Simulated liners; survival 3.5-3: deaths censored, and competing.
func TestLinerRevision(t *testing.T) {
	var ref struct {
		N, Events int
		KM        struct {
			Years    []float64
			AtRisk   []int `json:"at_risk"`
			Survival []float64
			SE       []float64
			Lower    []float64 `json:"lower95_loglog"`
			Upper    []float64 `json:"upper95_loglog"`
		} `json:"kaplan_meier"`
		AJ struct {
			Years       []float64
			Probability [][]float64
			SE          [][]float64
		} `json:"aalen_johansen"`
	}
	reference(t, "liner_revision.json", &ref)
	obs := observed(t, "liner_revision.csv", "years", "event", "")
	c, err := KaplanMeier(obs)
	require.NoError(t, err)
	assert.Equal(t, ref.N, c.N)
	assert.Equal(t, ref.Events, c.Events)
	for i, y := range ref.KM.Years {
		s := c.At(y)
		assert.Equal(t, ref.KM.AtRisk[i], s.AtRisk)
		assert.InDelta(t, ref.KM.Survival[i], s.Value, 1e-12)
		assert.InDelta(t, ref.KM.SE[i], s.SE, 1e-12)
		assert.InDelta(t, ref.KM.Lower[i], s.Interval(0.95).Lo, 1e-9)
		assert.InDelta(t, ref.KM.Upper[i], s.Interval(0.95).Hi, 1e-9)
	}
	inc, err := AalenJohansen(obs, ref.AJ.Years, 2)
	require.NoError(t, err)
	require.Len(t, inc, 5)
	for i, p := range ref.AJ.Probability {
		assert.InDelta(t, p[0], inc[i].Free.Value, 1e-12)
		assert.InDelta(t, ref.AJ.SE[i][0], inc[i].Free.SE, 1e-12)
		for k := range 2 {
			assert.InDelta(t, p[k+1], inc[i].Of[k].Value, 1e-12)
			assert.InDelta(t, ref.AJ.SE[i][k+1], inc[i].Of[k].SE, 1e-12)
		}
	}
}

// Quantiles, published curves, the curve of the simulated liners at each revision,
// and what one less Kaplan-Meier makes of deaths.
func TestSurvivalRest(t *testing.T) {
	type group struct {
		Q struct{ Estimate []*float64 } `json:"quantiles_25_50_75_log-log"`
	}
	var ref struct {
		AML       map[string]group
		Leukaemia map[string]group `json:"leukaemia_6mp"`
		Published struct {
			Curve struct{ Time, Survival []float64 } `json:"leukaemia_6mp_6MP"`
			Chisq float64                            `json:"leukaemia_log_rank_chisq"`
			AML   float64                            `json:"aml_log_rank_chisq"`
			E     []float64                          `json:"leukaemia_expected"`
		}
	}
	reference(t, "kaplan_meier.json", &ref)
	fit := func(file, g string) ([]Liner, Curve) {
		obs := observed(t, file, "time", "status", g)
		km, err := KaplanMeier(obs)
		require.NoError(t, err)
		return obs, km
	}
	check := func(want group, km Curve) {
		require.Len(t, want.Q.Estimate, 3)
		for i, q := range want.Q.Estimate {
			got, ok := km.Quantile(0.25 * float64(i+1))
			require.Equal(t, q != nil, ok)
			if ok {
				assert.InDelta(t, *q, got, 1e-12)
			}
		}
	}
	maintained, km := fit("aml.csv", "Maintained")
	check(ref.AML["Maintained"], km)
	other, km := fit("aml.csv", "Nonmaintained")
	check(ref.AML["Nonmaintained"], km)
	r, err := LogRank(maintained, other)
	require.NoError(t, err)
	assert.InDelta(t, ref.Published.AML, r.ChiSquare, 0.05, "as printed")
	drug, km := fit("leukaemia_6mp.csv", "6-MP")
	check(ref.Leukaemia["6-MP"], km)
	for i, y := range ref.Published.Curve.Time {
		assert.InDelta(t, ref.Published.Curve.Survival[i], km.At(y).Value, 0.001, "as printed")
	}
	placebo, km := fit("leukaemia_6mp.csv", "placebo")
	check(ref.Leukaemia["placebo"], km)
	r, err = LogRank(drug, placebo)
	require.NoError(t, err)
	assert.InDelta(t, ref.Published.Chisq, r.ChiSquare, 0.005, "as printed")
	assert.InDeltaSlice(t, ref.Published.E, r.Expected, 0.005, "as printed")

	var liners struct {
		Curve struct {
			Years, Survival []float64
			AtRisk          []int `json:"at_risk"`
			Events          []int
		}
		KM         struct{ Years []float64 } `json:"kaplan_meier"`
		OneMinusKM []float64                 `json:"one_minus_km"`
	}
	reference(t, "liner_revision.json", &liners)
	obs := observed(t, "liner_revision.csv", "years", "event", "")
	km, err = KaplanMeier(obs)
	require.NoError(t, err)
	k := 0
	for _, s := range km.Steps {
		if s.Events == 0 {
			continue
		}
		assert.InDelta(t, liners.Curve.Years[k], s.Years, 0)
		assert.Equal(t, liners.Curve.AtRisk[k], s.AtRisk)
		assert.Equal(t, liners.Curve.Events[k], s.Events)
		assert.InDelta(t, liners.Curve.Survival[k], s.Value, 1e-12)
		k++
	}
	assert.Len(t, liners.Curve.Years, k)
	inc, err := AalenJohansen(obs, liners.KM.Years, 2)
	require.NoError(t, err)
	for i, y := range liners.KM.Years {
		assert.InDelta(t, liners.OneMinusKM[i], 1-km.At(y).Value, 1e-12)
		assert.Less(t, inc[i].Of[0].Value, liners.OneMinusKM[i], "a death is no revision")
	}
}
