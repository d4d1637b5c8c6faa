package session

import (
	"errors"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// inStudy is opened with a reader and a study file, whose store it returns.
func inStudy(t *testing.T) (*bench, *storetest.Memory) {
	b := opened(t)
	require.NoError(t, b.SetReader("R1"))
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.book.create(path))
	return b, memoryFiles[path]
}

func TestAcceptanceIsUndoneAsAWithdrawal(t *testing.T) {
	b, m := inStudy(t)
	f := b.strip.Selected()
	b.Edits().Nudge(0.1, 0)
	mine := f.Draft.Head.At
	require.NoError(t, b.Accept())
	b.strip.Select(3)
	require.Equal(t, "accept film 1", b.history.UndoName())
	kept := readingsIn(t, m)[0]

	b.history.Undo()
	require.Equal(t, 0, b.strip.SelectedIndex(), "the film of the step is shown")
	require.Equal(t, "Undone: accept film 1. The reading is kept, marked as withdrawn.", b.Notice())
	require.Equal(t, Edited, f.State(), "the outlines are the reader's draft again")
	require.Equal(t, mine, f.Draft.Head.At)
	require.Nil(t, f.Accepted)
	require.Len(t, readingsIn(t, m), 1, "nothing is deleted")
	w := readingsIn(t, m)[0].Withdrawn
	require.Equal(t, &study.Withdrawal{ReadingID: kept.ID, Reader: "R1", At: w.At, Version: "test"}, w)
	require.True(t, w.At.After(kept.At))

	b.history.Undo()
	require.Equal(t, Proposed, f.State(), "steps before the acceptance can be undone as well")
	b.history.Redo()
	b.history.Redo()
	require.Equal(t, Accepted, f.State())
	require.Len(t, readingsIn(t, m), 1, "it is the same reading that stands again")
	require.True(t, readingsIn(t, m)[0].Stands())
}

func TestReadingBeforeTheWithdrawnOneStandsAgain(t *testing.T) {
	b, m := inStudy(t)
	require.NoError(t, b.Accept())
	b.Edits().Nudge(1, 0)
	require.NoError(t, b.Accept())
	b.history.Undo()
	f := b.strip.Selected()
	require.Equal(t, readingsIn(t, m)[0].ID, f.Accepted.ID)
	b.history.Undo() // the nudge
	require.Equal(t, Accepted, f.State())
	require.Equal(t, readingsIn(t, m)[0].Head.Circle, f.Draft.Head.At)

	b.Edits().Nudge(2, 0)
	require.NoError(t, b.Accept())
	require.Equal(t, readingsIn(t, m)[0].ID, readingsIn(t, m)[2].Supersedes, "not the withdrawn one")
}

func TestFailedUndoTakesNothingBack(t *testing.T) {
	b, m := inStudy(t)
	require.NoError(t, b.Accept())
	m.Fail = errors.New("disk full")
	b.history.Undo()
	require.Equal(t, "disk full", b.Notice())
	require.Equal(t, Accepted, b.strip.Selected().State())
	require.Equal(t, "accept film 1", b.history.UndoName())
	require.Empty(t, b.history.RedoName())
}

// secondHip adds a hip without films to the study.
func secondHip(b *bench, m *storetest.Memory) study.Hip {
	other := hip()
	other.ID, other.Side = "", measure.Left
	other, err := m.SaveHip(b.t.Context(), other, b.stamp())
	require.NoError(b.t, err)
	b.book.hips = append(b.book.hips, other)
	return other
}

func TestHistoryOutlivesTheOpeningOfAnotherHip(t *testing.T) {
	b, m := inStudy(t)
	other := secondHip(b, m)
	require.NoError(t, b.Accept())
	b.strip.Select(1)
	b.Edits().Nudge(1, 0)
	moved := b.strip.Selected().Draft.Head.At
	left := b.strip.Selected()

	require.NoError(t, b.OpenHip(other.ID))
	b.drain()
	require.Equal(t, "hip T1 right: move head, film 2", b.history.UndoName())
	for _, c := range b.history.done {
		require.Nil(t, c.film.pixels, "pictures of a hip that is left are not kept")
	}
	h := other
	h.Group = "B"
	require.NoError(t, b.SetHip(h))
	require.Equal(t, "change implant and dates", b.history.UndoName())
	b.history.Undo()

	b.history.Undo()
	b.drain()
	now, _ := b.Hip()
	require.Equal(t, "H1", now.ID, "the hip of the step is opened")
	f := b.strip.Selected()
	require.NotSame(t, left, f)
	require.Equal(t, left.Facts.SHA256, f.Facts.SHA256)
	require.Equal(t, Proposed, f.State())
	b.history.Redo()
	require.Equal(t, moved, f.Draft.Head.At)
	b.history.Undo()
	b.history.Undo()
	require.Equal(t, "Undone: accept film 1. The reading is kept, marked as withdrawn.", b.Notice())
	require.False(t, readingsIn(t, m)[0].Stands())
	require.Empty(t, b.history.UndoName())

	b.history.Redo()
	b.history.Redo()
	require.Equal(t, "hip T1 left: change implant and dates", b.history.RedoName())
	b.history.Redo()
	now, _ = b.Hip()
	require.Equal(t, "B", now.Group)
}

func TestAnotherStudyStartsItsOwnHistory(t *testing.T) {
	b, _ := inStudy(t)
	b.Edits().Nudge(1, 0)
	require.NoError(t, b.Accept())
	require.NoError(t, b.book.open(b.book.Path()))
	require.Empty(t, b.history.UndoName())
}

func TestTakingAFilmOutIsUndone(t *testing.T) {
	b := opened(t)
	b.strip.Select(2)
	b.Edits().Nudge(1, 0)
	f := b.strip.Selected()
	b.strip.Remove(2)
	require.Len(t, b.strip.Films(), 4)
	require.Equal(t, "take 2007-01-01.dcm out of the strip", b.history.UndoName())
	b.history.Undo()
	require.Same(t, f, b.strip.Selected())
	require.Equal(t, 2, b.strip.SelectedIndex())
	require.Equal(t, Edited, f.State())
	b.history.Undo()
	require.Equal(t, Proposed, f.State())
}

func TestDroppedChangesComeBack(t *testing.T) {
	b := opened(t)
	b.Edits().Nudge(1, 0)
	b.strip.Select(1)
	b.Edits().Nudge(1, 0)
	require.NoError(t, b.drafts.Drop())
	require.Zero(t, b.strip.Unsaved())
	require.Equal(t, "drop the changes of 2 films", b.history.UndoName())
	b.history.Undo()
	require.Equal(t, 2, b.strip.Unsaved())
}
