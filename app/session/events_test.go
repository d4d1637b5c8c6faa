package session

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// A film from after an exchange is of a later series, and of the first one again once the
// event is taken back.
func TestEventEndsTheSeries(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.SetReader("R1"))
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	for i := range b.strip.films {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	before, err := b.Trend()
	require.NoError(t, err)
	last := b.strip.films[len(b.strip.films)-1].Date()

	now := b.cfg.Now()
	entered := func(texts ...string) EventForm { return entered(t, b.EventForm(), texts...) }
	day := last.Format(time.DateOnly)
	for field, f := range map[string]EventForm{
		FieldDate:  entered("event", string(study.LinerExchanged), "date", "yesterday"),
		FieldEvent: entered("date", day),
		FieldHead:  entered("event", string(study.HeadExchanged), "date", day),
		"dose_kgy": entered("event", string(study.LinerExchanged), "date", day, "dose_kgy", "5000"),
	} {
		_, faults := f.Event(now)
		require.Len(t, faults, 1, "%+v", f)
		require.Equal(t, field, faults[0].Field)
	}
	e, faults := entered("event", string(study.LinerExchanged), "date", last.AddDate(0, 0, -1).Format(time.DateOnly), "note", " worn ", "pe", "XLPE", "stabiliser", "vitamin E").Event(now)
	require.Empty(t, faults)
	require.Equal(t, study.Implant{PE: "XLPE", Stabiliser: "vitamin E"}, e.Implant)
	require.NoError(t, b.book.AddEvent(e))
	list, err := b.book.Events()
	require.NoError(t, err)
	require.Len(t, list, 1)
	require.Equal(t, []string{"worn", "R1"}, []string{list[0].Note, list[0].Reader})
	require.Equal(t, study.FilmLater, b.Record().Entries(study.Anyone)[len(b.strip.films)-1].State)
	after, err := b.Trend()
	require.NoError(t, err)
	require.Len(t, after.Penetration, len(before.Penetration)-1)

	require.NoError(t, b.book.TakeBack(list[0].ID))
	list, err = b.book.Events()
	require.NoError(t, err)
	require.Empty(t, list)
	again, err := b.Trend()
	require.NoError(t, err)
	require.Len(t, again.Penetration, len(before.Penetration))
}
