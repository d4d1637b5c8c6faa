package study

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// exchangedRecord is the record of series with an exchange before its last two films.
func exchangedRecord(t *testing.T) Record {
	t.Helper()
	r := Record{Hip: rightHip()}
	for i, m := range dateOrder(series()) {
		m.Film.ID = string(rune('a' + i))
		r.Films = append(r.Films, m.Film)
		r.Readings = append(r.Readings, Reading{ID: "r" + m.Film.ID, FilmID: m.Film.ID, Reader: "R1", Measurement: m})
	}
	n := len(r.Films)
	require.GreaterOrEqual(t, n, 5)
	r.Events = []Event{{ID: "E1", Kind: LinerExchanged, Date: r.Films[n-2].Date(), Implant: Implant{LinerMM: 8, PE: "XLPE"}}}
	r.Hip.Until = UntilOf(r.Events)
	return r
}

// Films from before and after an exchange of the liner are fitted by nobody together.
func TestNoTrendAcrossAnExchange(t *testing.T) {
	r := exchangedRecord(t)
	n := len(r.Films)
	var all []Measurement
	for _, g := range r.Readings {
		all = append(all, g.Measurement)
	}
	_, err := NewTrend(r.Hip, all)
	var refused *FilmError
	require.ErrorAs(t, err, &refused)
	until := dateText(r.Hip.Until)
	assert.Equal(t, "the film of "+until+" is from after an exchange on "+until+": it is of a series of its own", NoteWords(refused.Reason))
	in, out := Joinable(r.Hip, nil, all)
	assert.Len(t, in, n-2)
	assert.Len(t, out, 2, "those that nobody has accepted are told, and the trend goes on without them")

	tr, err := r.Trend("R1")
	require.NoError(t, err)
	assert.Len(t, tr.Films, n-2)
	s := r.Summary("R1")
	assert.Equal(t, n-2, s.Read)
	assert.Equal(t, 2, s.Later)
	assert.Equal(t, HipDone, s.State)
	assert.Contains(t, NotesWords(s.Missing), "films from after an exchange, of a series of their own: 2")
	require.Len(t, s.Series, 1)
	assert.Equal(t, 2, s.Current().No)
	assert.Equal(t, r.Hip.Until, s.Current().From)
	assert.Equal(t, 2, s.Current().Read)
	second, err := r.Series()[1].Trend("R1")
	require.NoError(t, err)
	assert.Equal(t, second.Fit, s.Current().Fit, "of its own films alone")
	assert.NotEqual(t, s.Fit, s.Current().Fit)
	none := r.Summary("R9")
	assert.Equal(t, 1, none.Current().No, "nobody has read a later film")
	states := map[FilmState]int{}
	for _, e := range r.Entries("R1") {
		states[e.State]++
	}
	assert.Equal(t, map[FilmState]int{FilmRead: n - 2, FilmLater: 2}, states)
}

// Each series is a record of its own.
func TestSeries(t *testing.T) {
	r := exchangedRecord(t)
	n := len(r.Films)
	r.Films = append(r.Films, Film{ID: "undated"})
	r.Grades = []Grade{{FilmID: "a", Quality: "A"}, {FilmID: r.Films[n-1].ID, Quality: "C"}}
	list := r.Series()
	require.Len(t, list, 2)
	first, second := list[0], list[1]
	assert.Len(t, first.Films, n-1, "and the one without a date")
	assert.Len(t, second.Films, 2)
	assert.Equal(t, []Grade{{FilmID: "a", Quality: "A"}}, first.Grades)
	assert.Len(t, second.Readings, 2)
	assert.Equal(t, r.Hip.Until, second.Hip.Surgery)
	assert.Equal(t, Implant{HeadMM: 28, LinerMM: 8, PE: "XLPE"}, second.Hip.Implant)
	tr, err := second.Trend("R1")
	require.NoError(t, err)
	require.Len(t, tr.Penetration, 2)
	assert.Zero(t, tr.Penetration[0].Superior)
	assert.Zero(t, tr.Penetration[0].Years, "from the exchange on")
	assert.InDelta(t, r.Readings[n-1].Measurement.Reading.Offset.Superior-r.Readings[n-2].Measurement.Reading.Offset.Superior, tr.Penetration[1].Superior, 1e-12)

	alone := r
	alone.Hip.Until, alone.Events = time.Time{}, nil
	assert.Len(t, alone.Series(), 1, "without events all is one")
	assert.Len(t, alone.Series()[0].Films, n+1)
}

func TestEventsStand(t *testing.T) {
	list := []Event{
		{ID: "E1", Kind: HeadExchanged, Date: day("2012-01-01")}, {ID: "E2", Kind: LinerExchanged, Date: day("2010-01-01")},
		{ID: "E3", TakesBack: "E2"}, {ID: "E4", Kind: Died, Date: day("2009-01-01")},
	}
	var ids []string
	for _, e := range StandingEvents(list) {
		ids = append(ids, e.ID)
	}
	assert.Equal(t, []string{"E4", "E1"}, ids)
	assert.Equal(t, day("2012-01-01"), UntilOf(list))
	assert.True(t, UntilOf(list[3:]).IsZero(), "a death ends no series")
}

func TestEventFaults(t *testing.T) {
	h, now := rightHip(), day("2020-06-01")
	good := Event{Kind: LinerExchanged, Date: day("2015-05-01")}
	require.NoError(t, good.Validate(h, now))
	for want, change := range map[string]func(*Event){
		"the date of the event is missing":                                                   func(e *Event) { e.Date = time.Time{} },
		"the date of the event, 2020-06-02, is in the future":                                func(e *Event) { e.Date = day("2020-06-02") },
		"the date of the event, 2004-05-02, is before surgery (2004-05-03)":                  func(e *Event) { e.Date = day("2004-05-02") },
		"what happened is missing":                                                           func(e *Event) { e.Kind = "" },
		`event "moved" is none of head exchanged, liner exchanged, cup revised, death, lost`: func(e *Event) { e.Kind = "moved" },
		"a head diameter of 2.8 mm is outside 22 to 44 mm":                                   func(e *Event) { e.Implant.HeadMM = 2.8 },
		"the head diameter is missing: it is in the operation note, in mm":                   func(e *Event) { e.Kind = HeadExchanged },
	} {
		e := good
		change(&e)
		err := e.Validate(h, now)
		require.Error(t, err, want)
		assert.Equal(t, want, Told(err))
	}
	require.NoError(t, Event{TakesBack: "E1"}.Validate(h, now))
}
