package study

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/wearfit"
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
		m := Measurement{Film: Film{ID: string(rune('a' + i)), Facts: Facts{Date: surgery.AddDate(0, 0, days)}}, Status: Measured, Side: Right, HeadMM: 28}
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
		require.True(t, m.Fitted, "%s: %s", m.Name, NoteWords(m.Note))
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

// The rate without each film, and from each start, is that of a line through the
// films that are left.
func TestSensitivity(t *testing.T) {
	tr := straight(t, 0.6)
	s := tr.Sensitivity(Superior)
	require.Len(t, s.Starts, 4)
	require.Len(t, s.Films, 6, "the film before the steady state is in no line")
	all := tr.Models(Superior)[0].Rate
	for i, v := range s.Films {
		require.Equal(t, tr.Penetration[i+1].Film.ID, v.Left)
		require.InDelta(t, tr.Penetration[i+1].Years, v.Years, 0)
		require.InDelta(t, v.Rate-all, v.Shift, 1e-12)
		require.Equal(t, 5, v.Films)
	}
	require.InDelta(t, 0.1, s.Films[3].Rate, 1e-9, "without the stray film the rate is the true one")
	require.True(t, s.Films[0].HasInterval)
	require.Equal(t, 6, s.Starts[0].Films)
	require.Equal(t, 5, s.Starts[3].Films, "from year 2")

	tr.Penetration = tr.Penetration[:3]
	s = tr.Sensitivity(Superior)
	require.Equal(t, "too few films: 1, need 2", NoteWords(s.Films[0].Note))
	tr.Penetration = tr.Penetration[:1]
	s = tr.Sensitivity(Superior)
	require.Empty(t, s.Films)
	require.Equal(t, "too few films: 0, need 2", NoteWords(s.Note))
	require.Equal(t, "too few films: 0, need 2", NoteWords(s.Starts[0].Note))
}

// A further film lies farther from the line than the line's own mean.
func TestNextFilm(t *testing.T) {
	for _, m := range straight(t, 0.05).Models(Superior) {
		if !m.Fitted {
			continue
		}
		_, lo, hi, ok := m.Mean(9)
		fromLo, toHi, told := m.Next(9)
		if m.Robust {
			require.False(t, told, m.Name)
			continue
		}
		require.Equal(t, ok, told, m.Name)
		if told {
			require.Less(t, fromLo, lo, m.Name)
			require.Greater(t, toHi, hi, m.Name)
		}
	}
}

func TestReached(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name string
		c    wearfit.Crossing
		want string
		has  bool
	}{
		{"told", wearfit.Crossing{At: 4, Times: []wearfit.Interval{{Lo: 3, Hi: 5}}}, "", true},
		{"extrapolated", wearfit.Crossing{At: 4, Beyond: true, Times: []wearfit.Interval{{Lo: 3, Hi: 5}}}, "after the last film: extrapolated", true},
		{"empty", wearfit.Crossing{At: inf}, "at no time from surgery on", false},
		{"open", wearfit.Crossing{At: 4, Times: []wearfit.Interval{{Lo: 3, Hi: inf}}}, "cannot be told: after year 3, or never", true},
		{"all", wearfit.Crossing{At: inf, Times: []wearfit.Interval{{Lo: 0, Hi: inf}}}, "cannot be told: at any time, or never", true},
		{"two", wearfit.Crossing{At: 1, Times: []wearfit.Interval{{Lo: 0, Hi: 2.04}, {Lo: 7, Hi: 9}}}, "cannot be told: before year 2 or from year 7 to 9", true},
		{"passed", wearfit.Crossing{At: inf, State: wearfit.Passed, Times: []wearfit.Interval{{Lo: 0, Hi: 2}}}, "by the model already passed at surgery", true},
		{"falling", wearfit.Crossing{At: inf, State: wearfit.Never, Times: []wearfit.Interval{{Lo: 0, Hi: inf}}},
			"by the model not reached; cannot be told: at any time, or never", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			q := reached(Quantity{}, c.c)
			require.Equal(t, c.want, NoteWords(q.Note))
			require.Equal(t, c.has, q.HasInterval)
			require.Equal(t, !math.IsInf(c.c.At, 0), q.Exists())
		})
	}
}

// Half of a liner of 6 mm is 3 mm.
func TestAskLiner(t *testing.T) {
	var points []Point
	for i := range 6 {
		points = append(points, Point{Years: float64(i + 1), MM: 0.1 + 0.2*float64(i+1) + 0.01*float64(i%2)})
	}
	q := FitModels("H", points, LineModel, 1, AskLiner(50, 6), Ask{AtYears: 10})
	require.Equal(t, "time to 50 % of a liner of 6 mm", q[3].Name)
	require.InDelta(t, 14.5, q[3].Value, 0.1)
	require.True(t, q[3].Interval.Contains(14.5))
	require.Equal(t, "penetration at year 10", q[4].Name)
	require.Equal(t, "one further film at year 10", q[5].Name)
	require.InDelta(t, q[5].Interval.Hi, q[4].Interval.Hi, 1e-9, "a film is as good as the baseline film is taken to be")
}
