package study

import (
	"testing"

	"linerwatch/assets/texts"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestConventionsHaveWords(t *testing.T) {
	for _, c := range []Convention{ByLogLog, ByLogLogPatients, ByExact, ByExactPatients, ByMedian, ByLogRank, ByGray, ByEfron, ByEfronPatients,
		ByLikelihood, ByWald, ByWaldPatients, ByScore, ByScorePatients, ByProportional, ByChiSquare, ByNoncentral, ByMOVER, ByFisher, ByMcGrawWong, ByLargeSample} {
		_, err := texts.Try("convention."+string(c), nil)
		require.NoError(t, err, c)
	}
}

// told finds a quantity by what it is of, its model and its name.
func told(t *testing.T, list []Quantity, of, model, name string) Quantity {
	t.Helper()
	for _, q := range list {
		if q.Of == of && q.Model == model && q.Name == name {
			return q
		}
	}
	require.Failf(t, "not told", "%s %s %s in %v", of, model, name, list)
	return Quantity{}
}

func TestLinersDegenerate(t *testing.T) {
	rows := func(of ...LinerRow) []LinerRow { return of }
	t.Run("one hip", func(t *testing.T) {
		list, err := Liners(rows(LinerRow{Hip: "A", Years: 3}), LinerOptions{})
		require.NoError(t, err)
		q := told(t, list, "", "Kaplan-Meier", "not revised by year 2")
		assert.Equal(t, ByExact, q.By)
		assert.InDelta(t, 0.025, q.Interval.Lo, 1e-12)
		assert.False(t, q.SE > 0)
	})
	t.Run("nobody revised", func(t *testing.T) {
		list, err := Liners(rows(LinerRow{Hip: "A", Group: "x", Years: 3, Covariates: []float64{1}}, LinerRow{Hip: "B", Group: "y", Years: 4, Event: 2, Covariates: []float64{2}}),
			LinerOptions{Years: []float64{2}, Covariates: []string{"rate"}})
		require.NoError(t, err)
		for model, name := range map[string]string{"log-rank test": "revised alike", "Gray's test": "revised alike", "Cox regression": "hazard ratios"} {
			q := told(t, list, "", model, name)
			assert.False(t, q.Exists())
			assert.Equal(t, "no liner was revised while others that differ were at risk", NoteWords(q.Note))
		}
		assert.Equal(t, ByExact, told(t, list, "x", "Aalen-Johansen", "event 2 first by year 2").By, "a death in the other group")
	})
	t.Run("all alike", func(t *testing.T) {
		list, err := Liners(rows(LinerRow{Hip: "A", Years: 3, Event: 1, Covariates: []float64{7}}, LinerRow{Hip: "B", Years: 4, Covariates: []float64{7}}),
			LinerOptions{Covariates: []string{"age"}, Step: map[string]float64{"age": 10}})
		require.NoError(t, err)
		assert.Equal(t, "age by 10: all values are the same", NoteWords(told(t, list, "", "Cox regression", "hazard ratios").Note))
	})
	t.Run("events that are not there", func(t *testing.T) {
		list, err := Liners(rows(LinerRow{Hip: "A", Years: 3, Event: 5}, LinerRow{Hip: "B", Years: 4, Event: 1}, LinerRow{Hip: "C", Years: 0, Event: 1}), LinerOptions{Years: []float64{3}})
		require.NoError(t, err)
		assert.InDelta(t, 1.0/3, told(t, list, "", "Aalen-Johansen", "event 5 first by year 3").Value, 1e-12)
		for _, q := range list {
			assert.NotContains(t, q.Name, "event 2")
		}
		few := told(t, list, "", "Aalen-Johansen", "revised by year 3")
		assert.Equal(t, "3 patients are few for this interval: it may hold less often than stated", NoteWords(few.Note))
	})
	_, err := Liners(rows(LinerRow{Hip: "A", Group: "x", Patient: "P", Years: 3}, LinerRow{Hip: "B", Group: "x", Patient: "P", Years: 3}), LinerOptions{})
	require.Equal(t, "group x: too few patients to tell how far hips of one patient fail alike", Told(err))
	_, err = Liners(rows(LinerRow{Hip: "A", Years: 3}, LinerRow{Hip: "A", Years: 3}), LinerOptions{})
	require.Equal(t, "hip A is there twice: one row for each liner", Told(err))
	var many []LinerRow
	for i := range 21 {
		many = append(many, LinerRow{Hip: string(rune('a' + i)), Group: string(rune('a' + i)), Years: 3})
	}
	_, err = Liners(many, LinerOptions{})
	require.Equal(t, "21 groups; 20 at most are compared", Told(err))
	_, err = Liners(nil, LinerOptions{Covariates: []string{"age"}})
	require.Equal(t, "no liner was observed", Told(err))
}

// Two hips of a patient: the regression counts patients, the tests between groups say
// that they do not.
func TestLinersPaired(t *testing.T) {
	var rows []LinerRow
	for i, y := range []float64{2, 3, 5, 5, 6, 8, 9, 9, 10, 11, 12, 12} {
		rows = append(rows, LinerRow{Hip: string(rune('A' + i)), Patient: string(rune('P' + i/2)), Group: []string{"x", "y"}[i%2], Years: y,
			Event: (i + i/3) % 2, Covariates: []float64{float64(i*5%7) / 100}})
	}
	list, err := Liners(rows, LinerOptions{Years: []float64{4, 8}, Covariates: []string{"rate"}, Step: map[string]float64{"rate": 0.1}})
	require.NoError(t, err)
	assert.Equal(t, "chi-square; counts the hips of one patient as independent; the Cox regression does not", NoteWords(told(t, list, "", "log-rank test", "revised alike").Note))
	q := told(t, list, "", "Cox regression", "hazard ratio, y against x")
	assert.Equal(t, ByEfronPatients, q.By)
	assert.Equal(t, "rests on 4 revisions; with fewer than 10 a column the interval is rough", NoteWords(q.Note))
	assert.Positive(t, q.DF, "Student's t on the patients with a revision")
	assert.True(t, q.Interval.Contains(q.Value))
	told(t, list, "", "Cox regression", "hazard ratio the same at all times, all columns")
	assert.Equal(t, ByLogLog, told(t, list, "x", "Kaplan-Meier", "not revised by year 8").By, "no patient has both hips in one group")
}
