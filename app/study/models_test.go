package study

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// straight is a trend whose films lie on a line of 0.1 mm/year and 0.05 mm of
// bedding-in, but for one of them.
func straight(t *testing.T, stray float64) Trend {
	t.Helper()
	surgery := time.Date(2004, 1, 1, 0, 0, 0, 0, time.UTC)
	h := Hip{ID: "H", Patient: "P", Side: Right, Surgery: surgery, Implant: Implant{HeadMM: 28}, StartYears: 1}
	var ms []Measurement
	for i, days := range []int{20, 500, 1000, 1500, 2000, 2500, 3000} {
		y := h.Years(surgery.AddDate(0, 0, days))
		m := Measurement{Film: Film{ID: string(rune('a' + i)), Date: surgery.AddDate(0, 0, days)}, Status: Measured, Side: Right, HeadMM: 28}
		if i > 0 {
			m.Reading.Offset = measure.Vector{Superior: 0.05 + 0.1*y, Medial: -0.02 * y}
		}
		if i == 4 {
			m.Reading.Offset.Superior += stray
		}
		ms = append(ms, m)
	}
	tr, err := NewTrend(h, ms)
	require.NoError(t, err)
	return tr
}

func TestModelsAgreeOnAStraightCourse(t *testing.T) {
	ms := straight(t, 0).Models(Superior)
	require.Len(t, ms, 5)
	for _, m := range ms[:4] {
		require.True(t, m.Fitted, "%s: %s", m.Name, m.Note)
		require.InDelta(t, 0.1, m.Rate, 1e-6, m.Name)
		y, _, _, _ := m.Mean(10)
		require.InDelta(t, 1.05, y, 1e-5, m.Name)
	}
	require.InDelta(t, -0.02, straight(t, 0).Models(Medial)[0].Rate, 1e-9)
	require.Equal(t, 6, ms[0].Films, "the line leaves out the film before the steady state")
	require.Equal(t, 7, ms[3].Films)
}

func TestStrayFilmBendsTheRobustLinesLess(t *testing.T) {
	ms := straight(t, 0.6).Models(Superior)
	line, theil, huber := math.Abs(ms[0].Rate-0.1), math.Abs(ms[1].Rate-0.1), math.Abs(ms[2].Rate-0.1)
	require.Greater(t, line, 0.005)
	require.Less(t, theil, line)
	require.Less(t, huber, line)
	y, lo, hi, ok := ms[0].Mean(5)
	require.True(t, ok)
	require.Less(t, lo, y)
	require.Greater(t, hi, y)
	_, _, _, ok = ms[1].Mean(5)
	require.False(t, ok, "a Theil-Sen line has no band")
}

func TestTooFewFilmsAreSaid(t *testing.T) {
	tr := straight(t, 0)
	tr.Penetration = tr.Penetration[:2]
	for _, m := range tr.Models(Superior) {
		require.False(t, m.Fitted)
		require.NotEmpty(t, m.Note)
	}
}
