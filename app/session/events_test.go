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
	for field, f := range map[string]EventForm{
		FieldDate:  {Kind: study.LinerExchanged, Date: "yesterday"},
		FieldEvent: {Date: last.Format(time.DateOnly)},
		FieldHead:  {Kind: study.HeadExchanged, Date: last.Format(time.DateOnly)},
	} {
		_, faults := f.Event(b.hip, now)
		require.Len(t, faults, 1, "%+v", f)
		require.Equal(t, field, faults[0].Field)
	}
	e, faults := EventForm{Kind: study.LinerExchanged, Date: last.AddDate(0, 0, -1).Format(time.DateOnly), Note: " worn "}.Event(b.hip, now)
	require.Empty(t, faults)
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
