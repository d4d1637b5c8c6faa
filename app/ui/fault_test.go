package ui

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// movable is a study in memory whose file can go.
type movable struct {
	*storetest.Memory
	gone *bool
}

func (m movable) Check(ctx context.Context) error {
	if *m.gone {
		return study.ErrMoved
	}
	return m.Memory.Check(ctx)
}

func (m movable) AddReading(ctx context.Context, r study.Reading) error {
	if err := m.Memory.AddReading(ctx, r); err != nil || !*m.gone {
		return err
	}
	return study.ErrMoved
}

func (m movable) AddNext(ctx context.Context, r study.Reading) error {
	if err := m.Memory.AddNext(ctx, r); err != nil || !*m.gone {
		return err
	}
	return study.ErrMoved
}

// shown is all text of labels that is on the screen.
func (d *desk) shown() (text string) {
	for _, l := range onScreen[*widget.Label](d.win) {
		text += l.Text + "\n"
	}
	return text
}

func TestGoneStudyIsOfferedAnotherPlace(t *testing.T) {
	gone := false
	d, dir := proposed(t, series[:2]...)
	d.wrap = func(m *storetest.Memory) study.Store { return movable{m, &gone} }
	path := filepath.Join(dir, "s"+study.FileExt)
	require.NoError(t, d.settle("R1", path))
	d.drain()
	gone = true
	d.accept()
	d.drain()
	require.Contains(t, d.shown(), "was moved, removed or replaced")
	require.NotContains(t, d.s.Notice(), "saved")
	require.Contains(t, whereText(d.s), "NOT SAVED")
	d.press("Not now")

	closed := false
	d.leaveStudy(func() { closed = true }) // as when the window is closed
	require.False(t, closed)
	require.Contains(t, d.shown(), "What was accepted since is in no study file.")
	gone = false
	d.press("Save the study elsewhere …")
	to := filepath.Join(dir, "s-2"+study.FileExt)
	d.files[to] = d.files[path]
	d.press("Save the study")
	d.opened()
	require.Equal(t, to, d.s.Book().Path())
	require.True(t, closed, "closing goes on")
	require.NoError(t, d.s.Book().Fault())
}

func TestStudyThatIsBackIsNoFault(t *testing.T) {
	gone := false
	d, dir := proposed(t, series[:2]...)
	d.wrap = func(m *storetest.Memory) study.Store { return movable{m, &gone} }
	require.NoError(t, d.settle("R1", filepath.Join(dir, "s"+study.FileExt)))
	d.drain()
	for range 2 {
		gone = true
		require.Error(t, d.s.Book().Look())
		d.drain()
		require.Contains(t, d.shown(), "was moved, removed or replaced", "each time that it goes")
		gone = false
		require.NoError(t, d.s.Book().Look())
		d.drain()
		require.False(t, d.covered(), "nothing is asked any more")
		require.Contains(t, d.s.Notice(), "is at its place again and lacks nothing")
		require.NotContains(t, whereText(d.s), "NOT SAVED")
	}
}

func TestConflictIsAskedFieldByField(t *testing.T) {
	d, dir := proposed(t, series[:2]...)
	path := filepath.Join(dir, "s"+study.FileExt)
	require.NoError(t, d.settle("R1", path))
	h, _ := d.s.Hip()
	h.Implant.LinerMM = 8.5
	_, err := d.files[path].SaveHip(t.Context(), h, study.Stamp{Reader: "R2", At: time.Now()})
	require.NoError(t, err)
	d.askHip()
	d.put("Group", "B")
	d.press("Use for this hip")
	d.drain()
	g := onScreen[*widget.RadioGroup](d.win)
	require.Len(t, g, 2)
	require.Equal(t, []string{"yours: B", "theirs: not entered"}, g[0].Options)
	require.Equal(t, "yours: B", g[0].Selected)
	require.Equal(t, "theirs: 8.5 mm", g[1].Selected, "what only they have changed is proposed")
	d.press("Use what is chosen")
	h, _ = d.s.Hip()
	require.Equal(t, "B", h.Group)
	require.Equal(t, 8.5, h.Implant.LinerMM)
	require.False(t, d.covered())
}

func TestMissingFilmOffersAnotherFolder(t *testing.T) {
	d, dir := proposed(t, series[:2]...)
	require.NoError(t, d.settle("R1", filepath.Join(t.TempDir(), "s"+study.FileExt)))
	d.accept()
	d.drain()
	d.there = true
	to := filepath.Join(t.TempDir(), "new")
	require.NoError(t, os.Rename(dir, to))
	require.NoError(t, d.openBook(d.s.Book().Path()))
	d.drain()
	require.True(t, d.films.view.note.lost.Visible())
	require.Equal(t, []string{"2004-02-01", "2005-01-01"},
		[]string{d.films.strip.cards[0].Content().Title, d.films.strip.cards[1].Content().Title}, "read or not, the date is known")
	require.True(t, d.films.view.note.look.Visible())
	require.Contains(t, d.films.view.note.line.Text, "Look in another folder")
	d.s.Book().LookIn(to)
	d.drain()
	require.Equal(t, "Found again: 2 films. None is missing any more.", d.s.Notice())
	require.False(t, d.films.view.note.object.Visible())
	require.Equal(t, session.Accepted, d.s.Strip().Films()[0].State())
}

func TestRefusedStudySaysWhatToDo(t *testing.T) {
	require.Contains(t, refusedTodo(study.ErrDamaged), "a whole copy")
	require.Contains(t, refusedTodo(study.ErrNotStudy), study.FileExt)
}
