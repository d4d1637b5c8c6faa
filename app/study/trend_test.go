package study

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// on returns a measured film of rightHip with a given offset, each component
// read with standard error se.
func on(name, date string, superior, medial, se float64) Measurement {
	v := se * se
	return Measurement{
		Film:   Film{ID: "id-" + name, Path: "films/" + name, Facts: Facts{Patient: "P-017", Date: day(date), Side: measure.Right}},
		Status: Measured, Side: measure.Right, CupKind: measure.Shell, HeadMM: 28,
		Reading: measure.Reading{Offset: measure.Vector{Superior: superior, Medial: medial, Cov: [2][2]float64{{v, 0}, {0, v}}}},
	}
}

// series is a baseline at six weeks and films at 1, 2, 5 and 10 years: 0.15 mm
// of bedding-in, then 0.1 mm a year, with small errors.
func series() []Measurement {
	return []Measurement{
		on("10y.dcm", "2014-05-03", 1.36, -0.11, 0.03),
		on("base.dcm", "2004-06-14", 0.20, -0.05, 0.04),
		on("2y.dcm", "2006-05-03", 0.56, -0.07, 0.03),
		on("1y.dcm", "2005-05-03", 0.44, -0.06, 0.03),
		on("5y.dcm", "2009-05-03", 0.85, -0.09, 0.03),
	}
}

func TestNewTrend(t *testing.T) {
	ms := series()
	tr, err := NewTrend(rightHip(), ms)
	require.NoError(t, err)
	assert.Equal(t, series(), ms, "the caller's films are left as they were")
	assert.Empty(t, tr.Warnings)
	assert.Equal(t, "base.dcm", tr.Baseline.Name())
	var order []string
	for i, p := range tr.Penetration {
		order = append(order, p.Film.Name())
		assert.Equal(t, tr.Films[i].Film, p.Film)
		assert.Equal(t, i > 0, p.InLine)
	}
	assert.Equal(t, []string{"base.dcm", "1y.dcm", "2y.dcm", "5y.dcm", "10y.dcm"}, order)

	assert.Equal(t, measure.Vector{}, tr.Penetration[0].Vector, "the baseline has moved by nothing, without error")
	last := tr.Penetration[4]
	assert.InDelta(t, 3652/365.25, last.Years, 1e-12)
	assert.InDelta(t, 1.16, last.Superior, 1e-12)
	assert.InDelta(t, -0.06, last.Medial, 1e-12)
	sup, med := last.SE()
	assert.InDelta(t, 0.05, sup, 1e-12, "3, 4, 5: the film's error and the baseline's")
	assert.InDelta(t, 0.05, med, 1e-12)

	// The textbook sums, in years of 365.25 days.
	f := tr.Fit
	require.NotNil(t, f)
	x := []float64{365 / 365.25, 730 / 365.25, 1826 / 365.25, 3652 / 365.25}
	y := []float64{0.24, 0.36, 0.65, 1.16}
	var mx, my, sxx, sxy, rss float64
	for i := range x {
		mx, my = mx+x[i]/4, my+y[i]/4
	}
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	b := sxy / sxx
	a := my - b*mx
	for i := range x {
		rss += math.Pow(y[i]-a-b*x[i], 2)
	}
	sigma := math.Sqrt(rss / 2)
	const q = 4.302652729749464 // t, 2 degrees of freedom, 97.5 %: sqrt(2) 0.95 / sqrt(1 - 0.95²)
	assert.InDelta(t, math.Sqrt2*0.95/math.Sqrt(1-0.95*0.95), q, 1e-12)
	assert.InDelta(t, b, f.Rate, 1e-12)
	assert.InDelta(t, sigma/math.Sqrt(sxx), f.SE, 1e-12)
	assert.InDelta(t, b-q*f.SE, f.Lo95, 1e-10)
	assert.InDelta(t, b+q*f.SE, f.Hi95, 1e-10)
	assert.True(t, f.HasInterval)
	assert.Equal(t, "fit", f.IntervalFrom)
	assert.True(t, f.HasBedding)
	assert.InDelta(t, a, f.BeddingIn, 1e-12)
	// The baseline is one more reading, of a standard error of 0.04 where the line's have 0.03.
	// What that adds is known: the square of the quantile lies between the normal's and
	// Student's as the square of the part that the scatter tells (Welch 1947).
	const z = 1.959963984540054
	told, known := sigma*sigma*(1+1.0/4+mx*mx/sxx), 0.04*0.04-0.03*0.03
	part := told / (told + known)
	half := math.Sqrt((told + known) * (z*z + part*part*(q*q-z*z)))
	assert.InDelta(t, a-half, f.BeddingLo95, 1e-10)
	assert.InDelta(t, a+half, f.BeddingHi95, 1e-10)
	assert.True(t, f.HasFirstToLast)
	assert.InDelta(t, (1.16-0.24)/(x[3]-x[0]), f.FirstToLast, 1e-12)
	assert.InDelta(t, 1, f.StartYears, 0)
	assert.Equal(t, 4, f.Line.N)
}

// The bedding-in is no surer than the film that it counts from: the scatter of the
// other films does not show that the baseline's outline was drawn by hand.
func TestBeddingCarriesAnUncertainBaseline(t *testing.T) {
	half := func(baseSE float64) float64 {
		ms := series()
		ms[1] = on("base.dcm", "2004-06-14", 0.20, -0.05, baseSE)
		tr, err := NewTrend(rightHip(), ms)
		require.NoError(t, err)
		return (tr.Fit.BeddingHi95 - tr.Fit.BeddingLo95) / 2
	}
	assert.Greater(t, half(2), 1.9599*2*0.9999, "an error of 2 mm cannot leave less")
	assert.Less(t, half(0.01), half(0.03), "a better baseline gains")
	// An error that is known is not only more: the variance is better known by it, as in
	// Welch's test, so that a little of it does not widen the interval.
	assert.InDelta(t, half(0.03), half(0.031), 0.1*half(0.03))
	assert.Less(t, half(0.03), half(0.06))
}

func TestTrendBaseline(t *testing.T) {
	for _, ref := range []string{"id-1y.dcm", "films/1y.dcm", "1y.dcm", "./films/1y.dcm"} {
		h := rightHip()
		h.Baseline = ref
		tr, err := NewTrend(h, series())
		require.NoError(t, err, ref)
		assert.Equal(t, "1y.dcm", tr.Baseline.Name(), ref)
		assert.InDelta(t, -0.24, tr.Penetration[0].Superior, 1e-12, "an earlier film counts backwards")
		require.NotNil(t, tr.Fit)
		assert.Equal(t, 4, tr.Fit.Line.N, "the baseline is one of the films of the line")
		assert.False(t, tr.Fit.HasBedding)
		assert.Zero(t, [3]float64{tr.Fit.BeddingIn, tr.Fit.BeddingLo95, tr.Fit.BeddingHi95})
		assert.Equal(t, []string{"bedding-in was not observed: the baseline film 1y.dcm, at 1.00 years, is not from before year 1"}, NotesWords(tr.Warnings))
	}
	// The baseline's error moves all films alike: the rate does not depend on it.
	early, err := NewTrend(rightHip(), series())
	require.NoError(t, err)
	h := rightHip()
	h.Baseline = "1y.dcm"
	late, err := NewTrend(h, series())
	require.NoError(t, err)
	assert.InDelta(t, early.Fit.Rate, late.Fit.Rate, 1e-14)
	assert.InDelta(t, early.Fit.SE, late.Fit.SE, 1e-14)
}

func TestTrendTwoFilms(t *testing.T) {
	base := on("base.dcm", "2004-06-14", 0.2, 0, 0.05)
	ms := []Measurement{base, on("2y.dcm", "2006-05-03", 0.5, 0, 0.03), on("6y.dcm", "2010-05-03", 0.9, 0, 0.04)}
	tr, err := NewTrend(rightHip(), ms)
	require.NoError(t, err)
	f := tr.Fit
	require.NotNil(t, f)
	const z = 1.959963984540054 // normal distribution, 97.5 %
	t1, t2 := 730/365.25, 4.0*1+730/365.25
	rate := 0.4 / (t2 - t1)
	se := 0.05 / (t2 - t1) // sqrt(0.03² + 0.04²); the baseline's error cancels
	assert.InDelta(t, rate, f.Rate, 1e-12)
	assert.InDelta(t, se, f.SE, 1e-12)
	assert.InDelta(t, rate-z*se, f.Lo95, 1e-12)
	assert.InDelta(t, rate+z*se, f.Hi95, 1e-12)
	assert.True(t, f.HasInterval)
	assert.Equal(t, "readings", f.IntervalFrom)
	assert.InDelta(t, rate, f.FirstToLast, 1e-12)
	// The line at surgery is y1 (1 + c) - y2 c with c = t1 / (t2 - t1); the
	// baseline's own 0.05 comes on top.
	c := t1 / (t2 - t1)
	seBed := math.Sqrt(math.Pow(0.03*(1+c), 2) + math.Pow(0.04*c, 2) + 0.05*0.05)
	assert.InDelta(t, 0.3-rate*t1, f.BeddingIn, 1e-12)
	assert.InDelta(t, f.BeddingIn-z*seBed, f.BeddingLo95, 1e-12)
	assert.InDelta(t, f.BeddingIn+z*seBed, f.BeddingHi95, 1e-12)
	assert.Equal(t, []string{"two films in the line: the interval holds the readings' own errors only, not changes of position between films"}, NotesWords(tr.Warnings))

	for i := range ms { // outlines drawn by hand have no standard error
		blind := append([]Measurement{}, ms...)
		blind[i].Reading.Offset.Cov = [2][2]float64{}
		tr, err := NewTrend(rightHip(), blind)
		require.NoError(t, err)
		require.NotNil(t, tr.Fit)
		assert.InDelta(t, rate, tr.Fit.Rate, 1e-12)
		assert.False(t, tr.Fit.HasInterval)
		assert.Zero(t, [5]float64{tr.Fit.SE, tr.Fit.Lo95, tr.Fit.Hi95, tr.Fit.BeddingLo95, tr.Fit.BeddingHi95})
		assert.Equal(t, []string{"two films without standard errors of their readings: no interval can be given"}, NotesWords(tr.Warnings))
	}
}

// The second film is the baseline: its penetration has no error of its own, but
// the difference carries both readings'.
func TestTrendTwoFilmsFromTheFirst(t *testing.T) {
	tr, err := NewTrend(rightHip(), []Measurement{on("1y.dcm", "2005-05-03", 0.5, 0, 0.03), on("5y.dcm", "2009-05-03", 0.9, 0, 0.04)})
	require.NoError(t, err)
	assert.InDelta(t, 0.05/4, tr.Fit.SE, 1e-12)
	assert.False(t, tr.Fit.HasBedding)
}

func TestTrendTooFew(t *testing.T) {
	s := series()
	for _, c := range []struct {
		name  string
		films []Measurement
		want  []string
	}{
		{"the baseline alone", s[1:2], []string{
			"no rate: no measured film at or after 1 year",
			"one measured film: penetration needs a second one"}},
		{"one later film", []Measurement{s[1], s[4]}, []string{
			"no rate: one measured film at or after 1 year, two are needed (three for an interval from their scatter)"}},
		{"one late film alone", s[4:], []string{
			"no rate: one measured film at or after 1 year, two are needed (three for an interval from their scatter)",
			"one measured film: penetration needs a second one",
			"bedding-in was not observed: the baseline film 5y.dcm, at 5.00 years, is not from before year 1"}},
		{"a short follow-up", []Measurement{s[1], on("9m.dcm", "2005-02-01", 0.3, 0, 0.03)}, []string{
			"no rate: no measured film at or after 1 year",
			"the films span 0.6 years; rates from fewer than 2 years are mostly bedding-in and reading error"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			tr, err := NewTrend(rightHip(), c.films)
			require.NoError(t, err)
			assert.Nil(t, tr.Fit)
			assert.Len(t, tr.Penetration, len(c.films))
			assert.Equal(t, c.want, NotesWords(tr.Warnings))
		})
	}
}

func TestTrendWarns(t *testing.T) {
	t.Run("unmeasured films", func(t *testing.T) {
		ms := append(series(),
			Measurement{Film: Film{Path: "x/broken.dcm"}, Status: Failed, Reason: Note{Text: "no pixels"}},
			Measurement{Film: Film{Path: "x/knee.dcm", Facts: Facts{Date: day("2010-01-01")}}, Status: Refused, Reason: Note{Text: "no hip prosthesis"}})
		tr, err := NewTrend(rightHip(), ms)
		require.NoError(t, err)
		assert.Len(t, tr.Films, 7)
		assert.Len(t, tr.Penetration, 5)
		assert.Equal(t, "broken.dcm", tr.Films[6].Film.Name(), "a film without a date comes last")
		assert.Equal(t, []string{"knee.dcm was not measured: no hip prosthesis", "broken.dcm could not be read: no pixels"}, NotesWords(tr.Warnings))
		assert.Equal(t, 4, tr.Fit.Line.N)
	})
	t.Run("negative rate", func(t *testing.T) {
		ms := series()
		for i := range ms {
			ms[i].Reading.Offset.Superior *= -1
		}
		tr, err := NewTrend(rightHip(), ms)
		require.NoError(t, err)
		assert.Less(t, tr.Fit.Hi95, 0.0)
		assert.Equal(t, []string{"the rate is negative beyond its interval: look for a changed projection, a wrong side or an outline off its edge"}, NotesWords(tr.Warnings))
	})
	t.Run("late baseline", func(t *testing.T) {
		ms := series()
		ms[1].Film.Facts.Date = day("2004-11-03")
		tr, err := NewTrend(rightHip(), ms)
		require.NoError(t, err)
		assert.Equal(t, []string{"the baseline film base.dcm is from 0.50 years after surgery: bedding-in before it is not in the figures"}, NotesWords(tr.Warnings))
	})
	t.Run("another outline", func(t *testing.T) {
		ms := series()
		ms[2].CupKind = measure.Wire
		tr, err := NewTrend(rightHip(), ms)
		require.NoError(t, err)
		assert.Equal(t, []string{"the cup outline is the shell on 1y.dcm and the wire on 2y.dcm: their centres may differ"}, NotesWords(tr.Warnings))
	})
}

func TestTrendRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(h *Hip, ms []Measurement)
		want   string
	}{
		{"two films of one day", func(_ *Hip, ms []Measurement) { ms[2].Film.Facts.Date = day("2005-05-03") },
			"1y.dcm and 2y.dcm: two films of one day, 2005-05-03; keep one of them"},
		{"two films of one day, one refused", func(_ *Hip, ms []Measurement) {
			ms[2].Film.Facts.Date, ms[2].Status = day("2005-05-03"), Refused
		}, "1y.dcm and 2y.dcm: two films of one day, 2005-05-03; keep one of them"},
		{"before surgery", func(_ *Hip, ms []Measurement) { ms[0].Film.Facts.Date = day("2004-05-02") },
			"10y.dcm: the film of 2004-05-02 is from before surgery on 2004-05-03"},
		{"no date", func(_ *Hip, ms []Measurement) { ms[0].Film.Facts.Date = day("0001-01-01") },
			"10y.dcm: the film has no date"},
		{"marked for the other side", func(_ *Hip, ms []Measurement) { ms[0].Film.Facts.Side = measure.Left },
			"the hip and 10y.dcm: mixed sides: right against left; measure one hip at a time"},
		{"measured on the other side", func(h *Hip, ms []Measurement) { h.Side, ms[0].Side, ms[0].Film.Facts.Side = 0, measure.Left, 0 },
			"base.dcm and 10y.dcm: mixed sides: right against left; measure one hip at a time"},
		{"a film at odds with itself", func(h *Hip, ms []Measurement) {
			h.Side = 0
			ms[1].Film.Facts.Side = measure.Left
		}, "base.dcm: mixed sides: left against right; measure one hip at a time"},
		{"mixed patients", func(_ *Hip, ms []Measurement) { ms[0].Film.Facts.Patient = "P-018" },
			`base.dcm and 10y.dcm: mixed patients: "P-017" against "P-018"`},
		{"another patient's films", func(h *Hip, _ []Measurement) { h.Patient = "P-001" },
			`the hip and base.dcm: mixed patients: "P-001" against "P-017"`},
		{"a head exchanged", func(_ *Hip, ms []Measurement) { ms[0].HeadMM = 32 },
			"base.dcm and 10y.dcm: head diameters differ: 28 mm against 32 mm; a head exchange starts a new series"},
		{"not a number", func(_ *Hip, ms []Measurement) { ms[0].Reading.Offset.Cov[0][0] = math.NaN() },
			"10y.dcm: the reading is not a finite number"},
		{"nothing measured", func(_ *Hip, ms []Measurement) {
			for i := range ms {
				ms[i].Status = Refused
			}
		}, "no film of this hip was measured"},
		{"unknown baseline", func(h *Hip, _ []Measurement) { h.Baseline = "3y.dcm" },
			"3y.dcm: the baseline is none of the films"},
		{"ambiguous baseline", func(h *Hip, ms []Measurement) { h.Baseline, ms[0].Film.Path = "1y.dcm", "other/1y.dcm" },
			"1y.dcm: the baseline names more than one film; give its path"},
		{"unmeasured baseline", func(h *Hip, ms []Measurement) {
			h.Baseline, ms[0].Status, ms[0].Reason = "10y.dcm", Refused, Note{Text: "no cup"}
		}, "10y.dcm: the baseline film was not measured: no cup"},
		{"no surgery", func(h *Hip, _ []Measurement) { h.Surgery = day("0001-01-01") },
			"the date of surgery is missing"},
		{"bad start", func(h *Hip, _ []Measurement) { h.StartYears = math.NaN() },
			"a start of the steady state at NaN years is outside 0 to 20 years"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h, ms := rightHip(), series()
			c.change(&h, ms)
			tr, err := NewTrend(h, ms)
			require.Equal(t, c.want, Told(err))
			assert.Len(t, tr.Films, len(ms))
			assert.Nil(t, tr.Fit)
			assert.Empty(t, tr.Penetration)
		})
	}
	_, err := NewTrend(rightHip(), nil)
	require.ErrorIs(t, err, ErrNoMeasuredFilm)
	ms := series()
	ms[2].Film.Facts.Date = ms[3].Film.Date()
	_, err = NewTrend(rightHip(), ms)
	var film *FilmError
	require.ErrorAs(t, err, &film)
	assert.Equal(t, []string{"1y.dcm", "2y.dcm"}, film.Films)
	ms = series()
	ms[1].Film.Facts.Side = measure.Left
	_, err = NewTrend(rightHip(), ms)
	require.ErrorAs(t, err, &film)
	assert.Equal(t, []string{ms[1].Film.Name()}, film.Films, "the hip is no film")
}

// A path that names one film exactly is that film, whatever others are called.
func TestBaselineExactPath(t *testing.T) {
	h, ms := rightHip(), series()
	ms[0].Film.Path, ms[3].Film.Path = "other/1y.dcm", "1y.dcm"
	h.Baseline = "1y.dcm"
	tr, err := NewTrend(h, ms)
	require.NoError(t, err)
	assert.Equal(t, "id-1y.dcm", tr.Baseline.ID)
}

// Films whose file could not be read say nothing of side, patient or date.
func TestFailedFilmsContradictNothing(t *testing.T) {
	ms := series()
	ms[0] = Measurement{Film: Film{Path: "bad.dcm", Facts: Facts{Patient: "P-999", Date: day("2005-05-03"), Side: measure.Left}}, Status: Failed, Reason: Note{Text: "cut off"}}
	tr, err := NewTrend(rightHip(), ms)
	require.NoError(t, err)
	assert.Equal(t, []string{"bad.dcm could not be read: cut off"}, NotesWords(tr.Warnings))
}

func TestStartYears(t *testing.T) {
	for start, want := range map[float64]int{0: 4, 1: 4, 1.5: 3, 5: 2} {
		t.Run(fmt.Sprint(start), func(t *testing.T) {
			h := rightHip()
			h.StartYears = start
			tr, err := NewTrend(h, series())
			require.NoError(t, err)
			assert.Equal(t, want, tr.Fit.Line.N)
			assert.InDelta(t, h.Start(), tr.Fit.StartYears, 0)
		})
	}
}

func BenchmarkNewTrend(b *testing.B) {
	h, ms := rightHip(), series()
	for b.Loop() {
		if _, err := NewTrend(h, ms); err != nil {
			b.Fatal(err)
		}
	}
}
