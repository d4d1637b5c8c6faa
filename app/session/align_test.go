package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

func TestTurnsAreAProposalUntilTaken(t *testing.T) {
	b := opened(t)
	b.turns.Align()
	b.drain()
	for _, f := range b.strip.Films()[1:] {
		turn, ok := b.turns.Of(f)
		require.True(t, ok)
		require.ErrorIs(t, turn.Err, find.ErrNoPelvis, "the films of this test show no bone")
	}
	require.ErrorContains(t, b.turns.Take(), "film 2: measure: too little of the same pelvis")
	require.Empty(t, b.history.UndoName())

	for i, f := range b.strip.Films()[1:] {
		f.aligned.Err = nil
		f.aligned.FilmRotation = measure.FilmRotation{Degrees: float64(i), SE: 0.2}
	}
	b.strip.Select(0)
	require.NoError(t, b.Mouse().SetLine(lineFrom, lineTo))
	_, ok := b.turns.Of(b.strip.Films()[1])
	require.False(t, ok, "the baseline's outlines have changed since")
	b.history.Undo()
	for _, f := range b.strip.Films()[1:] {
		f.aligned.base = b.strip.Films()[0].turn
	}
	require.NoError(t, b.turns.Take())
	tr, err := b.Trend()
	require.NoError(t, err)
	require.True(t, tr.Method.Line)
	l, ok := b.strip.Films()[3].Line()
	require.True(t, ok)
	require.Equal(t, study.Line{From: study.Aligned, Alpha: 2, SE: 0.2}, l)
	require.Equal(t, "align pelvis, 5 films", b.history.UndoName())
	b.history.Undo()
	require.Empty(t, b.history.UndoName(), "the films' lines are one step")
	for _, f := range b.strip.Films() {
		require.Equal(t, Proposed, f.State())
		l, _ := f.Line()
		require.Equal(t, study.NoLine, l.From)
	}
	b.history.Redo()
	l, _ = b.strip.Films()[3].Line()
	require.Equal(t, study.Aligned, l.From)
}
