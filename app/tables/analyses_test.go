package tables_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/app/tables"
)

func quantity(t *testing.T, list []study.Quantity, of, model, name string) study.Quantity {
	t.Helper()
	for _, q := range list {
		if q.Of == of && q.Model == model && q.Name == name {
			return q
		}
	}
	require.Fail(t, "no such quantity", "%s, %s, %s", of, model, name)
	return study.Quantity{}
}

// 300 simulated hips of two groups; lme4 1.1-31, lmerTest 3.1-3, t.test of R
// 4.2.2. All films lie after one year.
func TestMixedTable(t *testing.T) {
	var ref struct {
		LR struct{ Chisq, P float64 } `json:"likelihood_ratio_liner_by_years_ml"`
	}
	b, err := os.ReadFile("../../wearfit/mixed/testdata/cohort_300.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, &ref))
	f, err := os.Open("../../wearfit/mixed/testdata/cohort_300.csv")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	list, bad, err := tables.Mixed(f, tables.Columns{"penetration_mm": "penetration", "group": "liner"}, true, study.CohortOptions{})
	require.NoError(t, err)
	require.Empty(t, bad)
	const model = "mixed model, REML"
	rate := quantity(t, list, "", model, "rate, crosslinked less conventional")
	assert.InEpsilon(t, -0.0703637164725868, rate.Value, 1e-5)
	assert.InEpsilon(t, 0.00348707474544515, rate.SE, 1e-5)
	assert.InEpsilon(t, 295.776645558818, rate.DF, 1e-3)
	assert.InDelta(t, 1657.19437966168, quantity(t, list, "", model, "restricted log-likelihood").Value, 1e-6)
	// Between models by ML: whether the rates of the groups differ.
	ratio := quantity(t, list, "", "likelihood-ratio test", "rates differ between groups")
	assert.InEpsilon(t, ref.LR.Chisq, ratio.Value, 1e-6)
	assert.InEpsilon(t, ref.LR.P, ratio.P, 1e-3)
	assert.InDelta(t, 1, ratio.DF, 0)
	assert.Greater(t, quantity(t, list, "", "likelihood-ratio test", "groups differ at all").Value, ratio.Value)
	// The rate of the first hip: its conditional coefficient.
	own := quantity(t, list, "H001", "shrunken, from the mixed model", "rate")
	assert.InEpsilon(t, 0.0709352755491368, own.Value, 1e-4)
	assert.True(t, own.HasInterval)
	w := quantity(t, list, "", "Welch t test", "rate, conventional less crosslinked")
	assert.InEpsilon(t, 0.0708030186146729, w.Value, 1e-10)
	assert.InEpsilon(t, 0.0636900025736039, w.Interval.Lo, 1e-9)
}

// Readings whose errors are known, by the command's route: metafor 3.8-1, by
// .ci/mixed.R. se_mm of a table holds the baseline film's error too.
func TestMixedTableErrors(t *testing.T) {
	b, err := os.ReadFile("../../wearfit/mixed/testdata/errors.csv")
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(b)), "\n")
	var text strings.Builder
	text.WriteString(lines[0] + ",se_mm\n")
	for _, l := range lines[1:] {
		cells := strings.Split(l, ",")
		own, err1 := strconv.ParseFloat(cells[9], 64)
		base, err2 := strconv.ParseFloat(cells[10], 64)
		require.NoError(t, errors.Join(err1, err2))
		text.WriteString(l + "," + strconv.FormatFloat(math.Hypot(own, base), 'g', 17, 64) + "\n")
	}
	names := tables.Columns{"penetration_mm": "penetration", "se_baseline_mm": "se_base"}
	list, bad, err := tables.Mixed(strings.NewReader(text.String()), names, true, study.CohortOptions{Start: 1})
	require.NoError(t, err)
	require.Empty(t, bad)
	const model = "mixed model, REML"
	assert.InDelta(t, 134.79182371, quantity(t, list, "", model, "restricted log-likelihood").Value, 1e-6)
	assert.InEpsilon(t, 0.0782275455038, quantity(t, list, "", model, "rate").Value, 1e-4)
	assert.InEpsilon(t, 0.0974470051372, quantity(t, list, "", model, "SD of intercepts between hips, without the baseline film's error").Value, 1e-3)
	assert.InEpsilon(t, 0.0492402679757, quantity(t, list, "", model, "residual SD, beyond the readings' stated errors").Value, 1e-3)

	// By class and film: nlme and lme4 have these without known errors, and so does this.
	cut := strings.NewReplacer(",se_base", ",other", ",se_mm", ",all").Replace(text.String())
	names = tables.Columns{"penetration_mm": "penetration", "class": "reader"}
	list, _, err = tables.Mixed(strings.NewReader(cut), names, true, study.CohortOptions{Start: 1})
	require.NoError(t, err)
	assert.InEpsilon(t, 0.0577075539024, quantity(t, list, "A", model, "residual SD").Value, 1e-3)
	assert.InEpsilon(t, 0.0781555903975, quantity(t, list, "B", model, "residual SD").Value, 1e-3)
	names = tables.Columns{"penetration_mm": "penetration", "film": "film"}
	list, _, err = tables.Mixed(strings.NewReader(cut), names, true, study.CohortOptions{Start: 1})
	require.NoError(t, err)
	assert.InEpsilon(t, 0.0184142165728, quantity(t, list, "", model, "SD of films, beyond the hip's line").Value, 1e-3)
}

// 40 simulated hips: nlme 3.1-162 by REML in R 4.2.2 and the Markov chain whose quantiles
// stand in the file, rjags 4-13; see wearfit/settle's test.
func TestSettleTable(t *testing.T) {
	f, err := os.Open("../../wearfit/settle/testdata/cohort_40x8.csv")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	list, bad, err := tables.Settle(f, tables.Columns{"offset_mm": "offset"}, study.CohortOptions{AtYears: []float64{5}})
	require.NoError(t, err)
	require.Empty(t, bad)
	const model, course = "bedding-in and rate, all films", "with the cohort, all films"
	bedding, rate := quantity(t, list, "", model, "bedding-in"), quantity(t, list, "", model, "rate")
	assert.InDelta(t, 0.137731595, bedding.Value, 0.4*0.009585895)
	assert.InDelta(t, 0.064592362, rate.Value, 0.1*0.005463489)
	assert.InEpsilon(t, 0.005463489, rate.SE, 0.02)
	assert.InEpsilon(t, 0.04498565, quantity(t, list, "", model, "SD of bedding-in between hips").Value, 0.02)
	assert.InEpsilon(t, 0.03412880, quantity(t, list, "", model, "SD of rates between hips").Value, 0.02)
	assert.InEpsilon(t, 0.031491148, quantity(t, list, "", model, "residual SD").Value, 0.02)
	assert.InDelta(t, 320, quantity(t, list, "", model, "films").Value, 0)
	chain, err := os.ReadFile("../../wearfit/settle/testdata/cohort_40x8_chain.csv")
	require.NoError(t, err)
	names := map[string]string{"creep": "bedding-in", "rate": "rate", "at5": "penetration at year 5"}
	for _, l := range strings.Fields(string(chain))[1:] {
		cells := strings.Split(l, ",")
		if names[cells[1]] == "" || cells[0] == "cohort" {
			continue
		}
		lo, err1 := strconv.ParseFloat(cells[2], 64)
		hi, err2 := strconv.ParseFloat(cells[4], 64)
		require.NoError(t, errors.Join(err1, err2))
		own := quantity(t, list, cells[0], course, names[cells[1]])
		assert.InDelta(t, lo, own.Interval.Lo, 0.06*(hi-lo), l)
		assert.InDelta(t, hi, own.Interval.Hi, 0.06*(hi-lo), l)
	}
}

// Patients are hips' patients, and an effect of their own.
func TestMixedTablePatients(t *testing.T) {
	var b strings.Builder
	b.WriteString("hip;years;penetration_mm;who\n")
	for i, row := range []string{"A;1;0,31", "A;2;0,42", "A;3;0,49", "B;1;0,35", "B;2;0,41", "B;4;0,62", "C;1;0,11",
		"C;2;0,19", "C;5;0,52", "D;1;0,15", "D;3;0,33", "D;4;0,42", "E;1;0,22", "E;2;0,30", "E;6;0,73", "F;1;0,2", "F;3;0,41", "F;5;0,6"} {
		b.WriteString(row + ";P" + string(rune('0'+i/6)) + "\n")
	}
	list, bad, err := tables.Mixed(strings.NewReader(b.String()), tables.Columns{"patient": "who"}, true, study.CohortOptions{Start: 1})
	require.NoError(t, err)
	require.Empty(t, bad)
	assert.InDelta(t, 3, quantity(t, list, "", "mixed model, REML", "patients").Value, 0)
	assert.InDelta(t, 6, quantity(t, list, "", "mixed model, REML", "hips").Value, 0)
	_, _, err = tables.Mixed(strings.NewReader("hip,years,penetration_mm,g\nA,1,1,x\nA,2,1,y\n"), tables.Columns{"group": "g"}, true, study.CohortOptions{})
	require.Equal(t, "hip A is in groups x and y", study.Told(err))
}

// 60 simulated liners, 14 revised, 28 deaths competing: survfit of survival 3.5-3,
// by the command's route.
func TestLinersTable(t *testing.T) {
	var ref struct {
		KM struct {
			Years, Survival, SE []float64
			AtRisk              []float64 `json:"at_risk"`
			Lower               []float64 `json:"lower95_loglog"`
			Upper               []float64 `json:"upper95_loglog"`
		} `json:"kaplan_meier"`
		AJ struct{ Probability, SE [][]float64 } `json:"aalen_johansen"`
	}
	b, err := os.ReadFile("../../wearfit/survive/testdata/liner_revision.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, &ref))
	f, err := os.Open("../../wearfit/survive/testdata/liner_revision.csv")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	list, bad, err := tables.Liners(f, nil, study.LinerOptions{Years: ref.KM.Years})
	require.NoError(t, err)
	require.Empty(t, bad)
	require.NotEmpty(t, ref.KM.Years)
	for i, y := range ref.KM.Years {
		at := strconv.FormatFloat(y, 'g', -1, 64)
		q := quantity(t, list, "", "Kaplan-Meier", "not revised by year "+at)
		assert.InDelta(t, ref.KM.Survival[i], q.Value, 1e-12)
		assert.InDelta(t, ref.KM.SE[i], q.SE, 1e-12)
		assert.InDelta(t, ref.KM.Lower[i], q.Interval.Lo, 1e-9)
		assert.InDelta(t, ref.KM.Upper[i], q.Interval.Hi, 1e-9)
		assert.InDelta(t, ref.KM.AtRisk[i], quantity(t, list, "", "Kaplan-Meier", "at risk at year "+at).Value, 0)
		q = quantity(t, list, "", "Aalen-Johansen", "revised by year "+at)
		assert.InDelta(t, ref.AJ.Probability[i][1], q.Value, 1e-12)
		assert.InDelta(t, ref.AJ.SE[i][1], q.SE, 1e-12)
		assert.InDelta(t, ref.AJ.Probability[i][2], quantity(t, list, "", "Aalen-Johansen", "event 2 first by year "+at).Value, 1e-12)
	}
}

// Simulated penetration in two components from one year on; slopes by numpy
// polyfit.
func TestVectorsTable(t *testing.T) {
	b, err := os.ReadFile("../../wearfit/testdata/vector_series.csv")
	require.NoError(t, err)
	text := "hip,years,medial,superior"
	for _, line := range strings.Split(strings.TrimSpace(string(b)), "\n")[1:] {
		text += "\nA," + line
	}
	names := tables.Columns{"penetration_mm": "superior", "medial_mm": "medial"}
	list, bad, err := tables.Vectors(strings.NewReader(text), names, 1, 90)
	require.NoError(t, err)
	require.Empty(t, bad)
	const model = "line in both components"
	assert.InDelta(t, 0.0595443548387097, quantity(t, list, "A", model, "superior rate").Value, 1e-12)
	assert.InDelta(t, 0.022893709677419365, quantity(t, list, "A", model, "rate along 90 degrees").Value, 1e-12)
	assert.InDelta(t, 0.06379382521805803, quantity(t, list, "A", model, "length of the rate").Value, 1e-12)
	assert.InDelta(t, 21.030833947218436, quantity(t, list, "A", model, "direction of the rate, from superior, medial +").Value, 1e-9)
}

func TestTablesRefused(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"UTF-16", "\xff\xfeh\x00i\x00p\x00", "the table is text in UTF-16; save it as UTF-8"},
		{"empty", "", "the table is empty"},
		{"no rows", "hip;years;penetration_mm;medial_mm;event\n", "the table has a header and no rows"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := tables.Models(strings.NewReader(c.text), nil, study.FitAll, 1, func([]study.Quantity) error { return nil })
			require.Equal(t, c.want, study.Told(err))
			_, _, err = tables.Vectors(strings.NewReader(c.text), nil, 1, 0)
			require.Equal(t, c.want, study.Told(err))
			_, _, err = tables.Liners(strings.NewReader(c.text), nil, study.LinerOptions{})
			require.Equal(t, c.want, study.Told(err))
			_, _, err = tables.Mixed(strings.NewReader(c.text), nil, true, study.CohortOptions{})
			require.Equal(t, c.want, study.Told(err))
		})
	}
	_, bad, err := tables.Vectors(strings.NewReader("hip,years,penetration_mm,medial_mm,medial_se_mm\nA,1,0.1,0.1,-1\nA,2,0.1,0.1,0.1,7\n"), nil, 1, 0)
	require.NoError(t, err)
	require.Len(t, bad, 2)
	require.Equal(t, "line 2, column medial_se_mm: -1 is negative", study.Told(bad[0]))
	require.Contains(t, study.Told(bad[1]), "line 3, column after the last: 6 cells where the header has 5")
}
