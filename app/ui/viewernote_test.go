package ui

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

func TestViewerSaysWhatIsBeingDone(t *testing.T) {
	d := newDesk(t)
	require.Equal(t, "No film is open", d.films.view.note.title.Text)
	dir := filmsIn(t, "2004-02-01.dcm", "2005-02-01.dcm")
	d.s.Strip().Add([]string{dir})
	d.drainUntil(func() bool { return len(d.s.Strip().Films()) == 2 })
	require.Equal(t, "Opening the films", d.films.view.note.title.Text)
	require.Equal(t, "0 of 2 are open.", d.films.view.note.line.Text)
	require.True(t, d.films.strip.cards[0].Content().Waiting)
	d.drain()
	require.False(t, d.films.view.note.object.Visible(), "the film is seen")

	require.NoError(t, d.s.SetHip(theHip()))
	d.refresh()
	require.Equal(t, "Looking for head and cup", d.films.view.note.title.Text)
	require.Equal(t, "0 of 2 films are searched.", d.films.view.note.line.Text)
	require.Equal(t, session.Searching, d.s.Strip().Films()[0].State())
	d.s.Work().Cancel()
	d.refresh()
	require.False(t, d.films.view.note.object.Visible())
}

func theHip() study.Hip {
	return study.Hip{Patient: "T1", Side: study.Right, Surgery: time.Date(2004, 1, 1, 0, 0, 0, 0, time.UTC), Implant: study.Implant{HeadMM: 28}}
}

// drainUntil runs what the background sends until done, and shows it.
func (d *desk) drainUntil(done func() bool) {
	for !done() {
		(<-d.queue)()
	}
	d.refresh()
}
