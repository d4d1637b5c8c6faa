package study

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// record is the series read by R1, and by R2 on the two last films, half a
// millimetre higher on the very last one.
func record() Record {
	r := Record{Hip: rightHip()}
	for i, m := range dateOrder(series()) {
		r.Films = append(r.Films, m.Film)
		r.Readings = append(r.Readings, Reading{ID: "a" + m.Film.ID, FilmID: m.Film.ID, Reader: "R1",
			At: time.Date(2020, 1, 1+i, 0, 0, 0, 0, time.UTC), Measurement: m})
	}
	for _, i := range []int{3, 4} {
		g := r.Readings[i]
		g.ID, g.Reader = "b"+g.FilmID, "R2"
		if i == 4 {
			g.Measurement.Reading.Offset.Superior += 0.5
		}
		r.Readings = append(r.Readings, g)
	}
	return r
}

func TestRecordCountsTheReadingsOfWhoIsAsked(t *testing.T) {
	r := record()
	require.Equal(t, []string{"R1", "R2"}, r.Readers())
	last := r.Films[4].ID
	require.Equal(t, "b"+last, r.Standing(last, Anyone).ID, "the latest of anyone")
	require.Equal(t, "a"+last, r.Standing(last, "R1").ID)
	require.Nil(t, r.Standing(r.Films[0].ID, "R2"))

	one, two, any := r.Summary("R1"), r.Summary("R2"), r.Summary(Anyone)
	assert.InDelta(t, 0.102, one.Fit.Rate, 0.001, "as in the test of the trend")
	assert.Greater(t, any.Fit.Rate, one.Fit.Rate+0.03)
	assert.Equal(t, 2, two.Fit.Line.N)
	assert.Equal(t, 5, one.Read)
	assert.Equal(t, []int{2, 3}, []int{two.Read, two.Unread})
	assert.Equal(t, HipDone, one.State)
	assert.Equal(t, HipInProgress, two.State)
	assert.Equal(t, []string{"R1", "R2"}, two.Readers)
	assert.Equal(t, day("2004-06-14"), one.First)
	assert.Equal(t, day("2014-05-03"), one.Last)
	assert.Equal(t, 2, r.Entries(Anyone)[4].Readings)
}

func TestRecordDoesNotCountWithdrawnReadings(t *testing.T) {
	r := record()
	for i := range r.Readings {
		if g := &r.Readings[i]; g.Reader == "R2" {
			g.Withdrawn = &Withdrawal{ReadingID: g.ID, Reader: "R2"}
		}
	}
	last := r.Films[4].ID
	require.Equal(t, "a"+last, r.Standing(last, Anyone).ID)
	require.Nil(t, r.Standing(last, "R2"))
	require.Equal(t, []string{"R1"}, r.Readers())
	require.Equal(t, 2, r.Entries(Anyone)[4].Readings, "they are kept")
	require.Equal(t, r.Summary("R1").Fit.Rate, r.Summary(Anyone).Fit.Rate)
}

func TestRecordLeavesOutAndTakesBackIn(t *testing.T) {
	r := record()
	id := r.Films[4].ID
	r.Exclusions = []Exclusion{{FilmID: id, Code: "exposure"}}
	e := r.Entries("R1")[4]
	assert.Equal(t, FilmExcluded, e.State)
	assert.Equal(t, "exposure", e.Exclusion.Code)
	assert.NotNil(t, e.Reading, "the reading stays")
	s := r.Summary("R1")
	assert.Equal(t, []int{4, 1, 0}, []int{s.Read, s.LeftOut, s.Unread})
	assert.Equal(t, 3, s.Fit.Line.N)
	r.Exclusions = append(r.Exclusions, Exclusion{FilmID: id})
	assert.Equal(t, FilmRead, r.Entries("R1")[4].State)
}

func TestSummarySaysWhatIsMissing(t *testing.T) {
	for _, c := range []struct {
		name    string
		change  func(*Record)
		state   HipState
		why     string
		missing []string
	}{
		{"details", func(*Record) {}, HipDone, "", []string{"head material", "liner thickness", "polyethylene", "shell"}},
		{"no films", func(r *Record) { r.Films = nil }, HipAttention, "no films",
			[]string{"head material", "liner thickness", "polyethylene", "shell"}},
		{"nothing read", func(r *Record) { r.Readings = nil; whole(r) }, HipToRead, "no film is read", nil},
		{"no early film", func(r *Record) { r.Films = r.Films[1:]; whole(r) }, HipDone, "", []string{"film of the first 12 weeks"}},
		{"early film left out", func(r *Record) { r.Exclusions = []Exclusion{{FilmID: r.Films[0].ID, Code: "other"}}; whole(r) },
			HipDone, "", []string{"film of the first 12 weeks"}},
		{"one film in the line", func(r *Record) { r.Films = r.Films[:2]; whole(r) }, HipDone, "1 of at least 2 films at or after 1 year", nil},
		{"undated film", func(r *Record) { r.Films = append(r.Films, Film{ID: "x"}); whole(r) }, HipAttention, "", nil},
		{"another patient's film", func(r *Record) {
			r.Hip.Patient = "P-017"
			r.Films = append(r.Films, Film{ID: "x", Facts: Facts{Patient: "Z9", Date: day("2015-01-01")}})
			whole(r)
		}, HipAttention, "", nil},
		{"contradiction", func(r *Record) { r.Hip.Surgery = day("2010-01-01"); whole(r) }, HipAttention,
			"base.dcm: the film of 2004-06-14 is from before surgery on 2010-01-01", []string{"film of the first 12 weeks"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := record()
			c.change(&r)
			s := r.Summary("R1")
			if c.name == "nothing read" {
				s = r.Summary(Anyone)
			}
			assert.Equal(t, c.state, s.State)
			assert.Equal(t, c.why, NoteWords(s.Why))
			assert.Equal(t, append([]string{}, c.missing...), NotesWords(s.Missing))
			assert.Equal(t, c.state == HipAttention, len(s.Attention) > 0, "%q", s.Attention)
		})
	}
}

// whole fills in every detail of the implant.
func whole(r *Record) {
	r.Hip.Implant = Implant{HeadMM: 28, LinerMM: 9, PE: "XLPE", HeadMaterial: "CoCr", ShellMM: 52, Fixation: "uncemented"}
}

func TestAsideCountsFromTheSameBaseline(t *testing.T) {
	ms := dateOrder(series())
	tr, err := NewTrend(rightHip(), ms[:4])
	require.NoError(t, err)
	p, ok := tr.Aside(ms[4])
	require.True(t, ok)
	whole, err := NewTrend(rightHip(), ms)
	require.NoError(t, err)
	want := whole.Penetration[4]
	assert.Equal(t, want.Vector, p.Vector)
	assert.Equal(t, want.Years, p.Years)
	assert.False(t, p.InLine)
	undated := ms[4]
	undated.Film.Facts.Date = time.Time{}
	_, ok = tr.Aside(undated)
	assert.False(t, ok)
}

// A corrected head that implies an implausible magnification is to be settled; one that the
// reader was asked about on accepting is not asked about for ever.
func TestCorrectedHeadIsToBeSettled(t *testing.T) {
	m := outlined(t)
	m.Film.ID = "a"
	r := Record{Hip: hipWith(Right, 28), Films: []Film{m.Film}, Links: []Link{{FilmID: "a"}},
		Readings: []Reading{{ID: "1", FilmID: "a", Reader: "R1", Measurement: m}}}
	of := func(notes []Note) int {
		for _, n := range notes {
			if n.Code == "attention.magnification" {
				return int(n.Values["N"].(float64))
			}
		}
		return 0
	}
	sized := func() int { return of(r.Summary(Anyone).Attention) }
	require.Zero(t, sized())
	require.Empty(t, r.Summary(Anyone).Doubts)
	r.Hip.Implant.HeadMM = 36 // magnified 0.89 times
	require.Equal(t, 1, sized())
	r.Readings[0].Warnings = []Warning{{Code: WarnMagnified}}
	require.Zero(t, sized(), "accepted so")
	require.Equal(t, 1, of(r.Summary(Anyone).Doubts), "and said all the same")
	require.Equal(t, 1, of(r.Summary(Anyone).Remarks()))
}

// A trend whose scale is not to be trusted says so, whether the head was corrected after the
// films were accepted or stated wrongly from the first.
func TestTrendSaysThatItsScaleIsInDoubt(t *testing.T) {
	films := series()
	for i := range films {
		films[i].Reading.Scale = 0.125
		films[i].Film.Facts.SpacingMM = 0.15
	}
	tr, err := NewTrend(rightHip(), films)
	require.NoError(t, err)
	require.Zero(t, tr.Doubt())
	for i := range films[:2] {
		films[i].Film.Facts.SpacingMM = 0.1875
	}
	tr, err = NewTrend(rightHip(), films)
	require.NoError(t, err)
	require.Equal(t, "2 readings of an implausible magnification: check the head diameter", NoteWords(tr.Doubt()))
	require.Contains(t, tr.Warnings, tr.Doubt())
	for i := range films {
		films[i].Film.Facts.SpacingMM = 0
	}
	films[0].Warnings = []Warning{{Code: WarnMagnified}}
	tr, err = NewTrend(rightHip(), films)
	require.NoError(t, err)
	require.Equal(t, 1.0, tr.Doubt().Values["N"], "as it was said when it was read")
}

// Nothing that was measured is left of a summary that is covered, of later series neither.
func TestCoveredTellsNoNumber(t *testing.T) {
	rate := &TrendFit{Rate: 0.1}
	s := Summary{State: HipAttention, Films: 3, Fit: rate, Series: []SeriesRate{{Fit: rate}}, Doubts: []Note{{Code: "rate.na"}}}.Covered()
	require.Nil(t, s.Fit)
	require.Nil(t, s.Current().Fit)
	require.Empty(t, s.Doubts)
	require.Equal(t, HipDone, s.State)
}

func TestCapital(t *testing.T) {
	for text, want := range map[string]string{"": "", "überblendet": "Überblendet", "a film": "A film", "3 films": "3 films"} {
		require.Equal(t, want, Capital(text))
	}
}
