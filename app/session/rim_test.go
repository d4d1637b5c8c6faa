package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// The rim is looked for again where the shell was outlined elsewhere, and never in
// place of a line that the reader drew.
func TestRimFollowsTheOutlinedShell(t *testing.T) {
	s := phantom.Plain(measure.Right).Around(measure.Right, 100)
	img, err := phantom.Render(s)
	require.NoError(t, err)
	truths, err := phantom.Truths(s)
	require.NoError(t, err)
	cup, head := truths[0].Cup, truths[0].Head
	off := cup
	off.X += 25
	before := Draft{CupKind: measure.Shell, Head: fitted(outline(head)), Cup: Trace{}.put(off, 1)}
	after := before
	after.Cup = fitted(outline(cup))

	rim := after.rimAfter(before, img)
	require.True(t, rim.Proposed())
	require.InDelta(t, truths[0].Rim.Angle, rim.Found.Angle, 1)
	after.Rim = rim
	require.Equal(t, rim, after.rimAfter(after, nil), "the shell is where it was: the film is not looked at")

	drawn, err := study.DrawRim(measure.Point{X: 1, Y: 1}, measure.Point{X: 300, Y: 300})
	require.NoError(t, err)
	after.Rim = drawn
	require.Equal(t, drawn, after.rimAfter(before, img))

	after.CupKind, after.Rim = measure.Wire, study.Rim{}
	require.False(t, after.rimAfter(before, img).Drawn())
}

// Clearing the drawn line brings the rim found on the film back, as one step.
func TestClearedRimLineGivesTheFoundOneBack(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	found := study.Rim{A: measure.Point{X: 50, Y: 100}, B: measure.Point{X: 450, Y: 460}, Found: measure.Ellipse{X: cupX, Y: cupY, A: 250, B: 50, Angle: 42}}
	f.proposal.Rim = found
	require.NoError(t, b.Mouse().drawRim(f, measure.Point{X: 60, Y: 100}, measure.Point{X: 440, Y: 400}))
	require.False(t, f.Draft.Rim.Proposed())
	b.Edits().ClearRim()
	require.Equal(t, found, f.Draft.Rim)
	o, ok := b.Numbers(f).Orientation()
	require.True(t, ok && o.Version)
	b.Edits().ClearRim()
	require.False(t, f.Draft.Rim.Drawn())
	b.history.Undo()
	b.history.Undo()
	require.False(t, f.Draft.Rim.Proposed())
	require.True(t, f.Draft.Rim.Drawn())
}
