package wearfit

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// observed reads a table of times and events, the rows of one group or all.
func observed(t *testing.T, file, time, event, group string) []Observed {
	t.Helper()
	keep := func(m map[string]string) bool { return group == "" || m["group"] == group }
	d := columns(t, file, keep, time, event)
	out := make([]Observed, len(d[0]))
	for i := range out {
		out[i] = Observed{d[0][i], int(d[1][i])}
	}
	return out
}

type rCurve struct {
	Time     []float64
	Risk     []int `json:"n_risk"`
	Event    []int `json:"n_event"`
	Censor   []int `json:"n_censor"`
	Survival []float64
	SE       []*float64                    `json:"se_greenwood"`
	Lower    []*float64                    `json:"lower95_log-log"`
	Upper    []*float64                    `json:"upper95_log-log"`
	Quantile struct{ Estimate []*float64 } `json:"quantiles_25_50_75_log-log"`
}

func (r rCurve) check(t *testing.T, c Survivors) {
	t.Helper()
	require.Len(t, c.Steps, len(r.Time))
	for i, s := range c.Steps {
		assert.InDelta(t, r.Time[i], s.Years, 0)
		assert.Equal(t, r.Risk[i], s.AtRisk)
		assert.Equal(t, r.Event[i], s.Events)
		assert.Equal(t, r.Censor[i], s.Censored)
		assert.InDelta(t, r.Survival[i], s.Survival, 1e-12)
		if s.Survival == 0 {
			assert.Equal(t, Interval{0, 1}, s.Interval(0.95))
			continue
		}
		assert.InDelta(t, *r.SE[i], s.SE, 1e-12)
		assert.InDelta(t, *r.Lower[i], s.Interval(0.95).Lo, 1e-9)
		assert.InDelta(t, *r.Upper[i], s.Interval(0.95).Hi, 1e-9)
	}
	for i, p := range []float64{0.25, 0.5, 0.75} {
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
			var groups [][]Observed
			for i, g := range c.groups {
				obs := observed(t, c.file, "time", "status", g)
				km, err := KaplanMeier(obs)
				require.NoError(t, err)
				c.want[i].check(t, km)
				groups = append(groups, obs)
			}
			r, err := CompareSurvival(groups...)
			require.NoError(t, err)
			near(t, c.rank.Chisq, r.ChiSquare, 1e-10, "chi-square")
			near(t, c.rank.P, r.P, 1e-9, "p")
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
		assert.InDelta(t, ref.KM.Survival[i], s.Survival, 1e-12)
		assert.InDelta(t, ref.KM.SE[i], s.SE, 1e-12)
		assert.InDelta(t, ref.KM.Lower[i], s.Interval(0.95).Lo, 1e-9)
		assert.InDelta(t, ref.KM.Upper[i], s.Interval(0.95).Hi, 1e-9)
	}
	inc, err := CumulativeIncidence(obs, ref.AJ.Years)
	require.NoError(t, err)
	require.Len(t, inc, 5)
	for i, p := range ref.AJ.Probability {
		assert.InDelta(t, p[0], inc[i].Free, 1e-12)
		assert.InDelta(t, ref.AJ.SE[i][0], inc[i].FreeSE, 1e-12)
		for k := range 2 {
			assert.InDelta(t, p[k+1], inc[i].Share[k], 1e-12)
			assert.InDelta(t, ref.AJ.SE[i][k+1], inc[i].SE[k], 1e-12)
		}
	}
}

func TestSurvivalFaults(t *testing.T) {
	_, err := KaplanMeier(nil)
	require.ErrorIs(t, err, ErrEvents)
	_, err = KaplanMeier([]Observed{{-1, 1}})
	require.ErrorIs(t, err, ErrBeforeSurgery)
	_, err = CompareSurvival([]Observed{{1, 1}})
	require.ErrorIs(t, err, ErrEvents)
	_, err = CompareSurvival([]Observed{{1, 0}}, []Observed{{2, 0}})
	require.ErrorIs(t, err, ErrNoScatter, "no event at all")
	c, err := KaplanMeier([]Observed{{1, 0}, {2, 0}})
	require.NoError(t, err)
	assert.Equal(t, Interval{1, 1}, c.At(1.5).Interval(0.95))
	_, ok := c.Quantile(0.5)
	assert.False(t, ok)
}
