package study

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

// The rate of the steady-state line and its interval are computed once: the trend, the
// line among the models and the summary of the hip tell the same.
func TestLineIsToldAlikeEverywhere(t *testing.T) {
	all := series()
	for _, c := range []struct {
		films []Measurement
		from  string
	}{
		{all, FromFit}, {all[:3], FromReadings}, {all[:4], FromFit},
	} {
		t.Run(fmt.Sprint(len(c.films)), func(t *testing.T) {
			films := append([]Measurement(nil), c.films...)
			for i := range films {
				films[i].Reading.Scale, films[i].Reading.SEScale = 0.2, 0.002
			}
			r := Record{Hip: rightHip()}
			for i, m := range films {
				r.Films = append(r.Films, m.Film)
				r.Readings = append(r.Readings, Reading{ID: fmt.Sprint(i), FilmID: m.Film.ID, Reader: "R1", Measurement: m})
			}
			tr, err := NewTrend(rightHip(), films)
			require.NoError(t, err)
			require.True(t, tr.Fit.HasInterval)
			require.Equal(t, c.from, tr.Fit.IntervalFrom)
			for _, m := range []Model{tr.Models(Superior)[0], tr.SteadyLine(Superior)} {
				require.True(t, m.HasInterval)
				require.Equal(t, []float64{tr.Fit.Rate, tr.Fit.Lo95, tr.Fit.Hi95}, []float64{m.Rate, m.Lo95, m.Hi95})
				_, _, _, band := m.Mean(5)
				require.True(t, band, "what is told has its band")
			}
			s := r.Summary(Anyone)
			require.Equal(t, []float64{tr.Fit.Rate, tr.Fit.Lo95, tr.Fit.Hi95}, []float64{s.Fit.Rate, s.Fit.Lo95, s.Fit.Hi95})
		})
	}
}

// Two films tell an interval of each component by their own readings, and none of a
// magnitude, to which the baseline's error does not come alike.
func TestTwoFilmsOfOtherComponents(t *testing.T) {
	tr, err := NewTrend(rightHip(), series()[:3])
	require.NoError(t, err)
	m := tr.SteadyLine(Medial)
	require.True(t, m.HasInterval)
	require.Less(t, m.Lo95, m.Rate)
	require.Contains(t, NoteWords(m.Note), "own errors")
	require.False(t, tr.SteadyLine(Magnitude).HasInterval)
}
