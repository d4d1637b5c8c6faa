package session

import (
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

var (
	lineFrom = measure.Point{X: 100, Y: 300}
	lineTo   = measure.Point{X: 500, Y: 310}
)

func TestLineIsOneStepHoweverItIsDrawn(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	_, ok := f.Line()
	require.False(t, ok)
	for x := 110.0; x <= 500; x += 30 { // a drag; the first places are too near for a line
		b.Mouse().PreviewLine(lineFrom, measure.Point{X: x, Y: 310})
	}
	require.NoError(t, b.Mouse().SetLine(lineFrom, lineTo))
	require.Equal(t, "draw the reference line, film 1", b.history.UndoName())
	l, ok := f.Line()
	require.True(t, ok)
	require.Equal(t, study.Drawn, l.From)
	require.InDelta(t, 1.432, l.Alpha, 1e-3)
	require.Equal(t, Edited, f.State())
	b.history.Undo()
	_, ok = f.Line()
	require.False(t, ok, "one step takes all of the drag back")
	require.Equal(t, Proposed, f.State())
	b.history.Redo()
	l, _ = f.Line()
	require.Equal(t, lineTo, l.B)

	require.NoError(t, b.Edits().ClearLine())
	_, ok = f.Line()
	require.False(t, ok)
	b.history.Undo()
	b.Mouse().PreviewLine(lineFrom, measure.Point{X: 500, Y: 330})
	b.Mouse().CancelLine()
	l, _ = f.Line()
	require.Equal(t, lineTo, l.B, "a drawing given up leaves the line as it was")
	require.Equal(t, "draw the reference line, film 1", b.history.UndoName())
}

func TestLineTurnsTheReadingWhereEveryFilmHasOne(t *testing.T) {
	b := opened(t)
	for i := range b.strip.Films() {
		tr, err := b.Trend()
		require.NoError(t, err)
		require.False(t, tr.Method.Line)
		b.strip.Select(i)
		require.NoError(t, b.Mouse().SetLine(lineFrom, lineTo))
	}
	tr, err := b.Trend()
	require.NoError(t, err)
	require.True(t, tr.Method.Line)
	n := b.Numbers(b.strip.Selected())
	require.InDelta(t, 1.432, n.Outlines().Alpha, 1e-3)
	// Superior on the film leans to the right, which is medial of a right hip.
	require.Less(t, n.Reading.Offset.Medial, -0.01)

	// What is drawn on the film is what its circles say: the head lies where the film has
	// it, and lay where the baseline's offset, turned by this film's line, puts it.
	f, base := b.strip.Films()[len(b.strip.Films())-1], b.strip.Films()[0]
	dx, dy, mm, ok := b.course.MovedOnFilm(f)
	require.True(t, ok)
	o, p := b.Numbers(f).Reading.Offset, b.Numbers(base).Reading.Offset
	now, before := math.Hypot(o.Superior-p.Superior, o.Medial-p.Medial), math.Hypot(dx, dy)*b.Numbers(f).Reading.Scale
	require.InDelta(t, now, mm, 1e-9)
	require.InDelta(t, mm, before, 1e-9)
	lx, ly := lineTo.X-lineFrom.X, lineTo.Y-lineFrom.Y
	along := (dx*lx + dy*ly) / math.Hypot(lx, ly) * b.Numbers(f).Reading.Scale
	require.InDelta(t, o.Medial-p.Medial, along, 1e-9, "medial of a right hip runs along the line")
}

func TestLineThatIsNoneIsRefused(t *testing.T) {
	b := opened(t)
	for name, to := range map[string]measure.Point{
		"a click": lineFrom,
		"short":   {X: 110, Y: 300},
		"steep":   {X: 120, Y: 900},
	} {
		require.Error(t, b.Mouse().SetLine(lineFrom, to), name)
		_, ok := b.strip.Selected().Line()
		require.False(t, ok, name)
	}
	require.Empty(t, b.history.UndoName())
	b.strip.Selected().Draft = nil
	require.Contains(t, study.Told(b.Mouse().SetLine(lineFrom, lineTo)), "outline head and cup first")
}

func TestLineAndViewComeBackFromTheStudy(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.SetReader("AB"))
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	require.NoError(t, b.Mouse().SetLine(lineFrom, lineTo))
	require.NoError(t, b.Accept())
	require.NoError(t, b.given.SetBeamCenter(&measure.Point{X: 7, Y: 8}))
	require.NoError(t, b.given.SetSource(1200))
	require.Error(t, b.given.SetSource(12))
	require.NoError(t, b.given.SetView(study.Lateral))
	require.Error(t, b.given.SetView("oblique"))
	require.Equal(t, "mark as lateral, film 1", b.history.UndoName())
	b.history.Undo()
	require.Equal(t, study.AP, b.View(b.strip.Selected()))
	b.history.Redo()
	id := b.strip.Selected().ID
	require.NoError(t, b.OpenHip(b.book.Hips()[0].ID))
	f := b.strip.ByID(id)
	require.NotNil(t, f)
	l, ok := f.Line()
	require.True(t, ok)
	require.Equal(t, lineFrom, l.A)
	require.Equal(t, study.Lateral, b.View(f))
	require.Equal(t, 1200.0, f.Given.SourceMM)
	require.Equal(t, measure.Point{X: 7, Y: 8}, *f.Given.Center)
	require.NoError(t, b.SetBeamOff(true))
	h, _ := b.Hip()
	require.True(t, h.BeamOff)
}

// A reading says why it is not corrected: a reader who switched nothing off is not
// told so.
func TestUncorrectedReadingSaysWhy(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	_, _, use := f.Beam()
	require.NotEmpty(t, use.Reason, "nothing tells where the central ray met these films")
	require.Equal(t, use.Reason, b.Numbers(f).Beam.Reason)
	require.NoError(t, b.SetBeamOff(true))
	require.Equal(t, "switched off", study.NoteWords(b.Numbers(f).Beam.Reason))
}
