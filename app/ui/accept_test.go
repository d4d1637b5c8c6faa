package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// Enter on a film that another reader has read says so, and how it is read by this one.
func TestEnterOnAnothersReading(t *testing.T) {
	d, _ := accepted(t)
	require.NoError(t, d.s.SetReader("R3"))
	d.s.Strip().Select(0)
	d.key(fyne.KeyReturn, false)
	require.Contains(t, shownText(d), "The outlines shown are those of R2")
	require.Contains(t, shownText(d), "ask who leads the study for a reading list")
	d.press("Go back")
	require.Equal(t, study.Anyone, d.s.Book().Counts(), "no reader says what counts by accepting")
	require.Len(t, d.saved(), 4)
	require.NoError(t, d.s.Book().SetCounts("R3"))
	d.drain()
	require.Equal(t, session.Proposed, d.s.Strip().Selected().State())
	d.key(fyne.KeyReturn, false)
	require.Len(t, d.saved(), 5)
	require.Equal(t, 1, d.s.Strip().SelectedIndex(), "and on to the next film")
}

// A form answers Escape again once a dialog that lay over it has gone.
func TestFormUnderADialogClosesByEscape(t *testing.T) {
	d := newDesk(t)
	d.add([]string{filmsIn(t, series...)})
	d.drain()
	require.True(t, d.asking)
	d.ask("Over it", "", answer{"Go back", nil})
	d.key(fyne.KeyEscape, false)
	require.True(t, d.asking, "the upper one alone is gone")
	d.key(fyne.KeyReturn, false)
	require.True(t, d.asking, "the form proposes nothing")
	d.key(fyne.KeyEscape, false)
	require.False(t, d.covered())
	require.False(t, d.asking)
}

// The same outlines are no new reading, however often they are refined and accepted.
func TestSameReadingIsStoredOnce(t *testing.T) {
	d, _ := accepted(t)
	require.NoError(t, d.s.SetReader("R3"))
	d.s.Strip().Select(0)
	for range 6 {
		d.letter('b')
		for d.s.Strip().Selected().State() != session.Edited {
			(<-d.queue)()
		}
		d.key(fyne.KeyReturn, false)
		d.drain()
	}
	require.Equal(t, 5, len(d.saved()), "R3's first reading beside R2's four")
	require.Contains(t, d.s.Notice(), "This film is read already, by R3")
	require.Equal(t, session.Accepted, d.s.Strip().Selected().State())
	d.key(fyne.KeyReturn, false)
	require.Contains(t, d.s.Notice(), "This film is read already, by R3")
	d.s.Edits().Nudge(0.1, 0)
	d.key(fyne.KeyReturn, false)
	require.Len(t, d.saved(), 6)
	require.Contains(t, d.s.Notice(), "Every film of this hip is read, 3 by others")
}
