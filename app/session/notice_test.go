package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// What was said goes with what makes it untrue.
func TestNoticeGoesWhenItIsTrueNoLonger(t *testing.T) {
	refined := func(b *bench) { b.Edits().RefineBoth(); b.one() }
	undone := func(b *bench) { b.Edits().Nudge(1, 0); b.history.Undo() }
	for _, c := range []struct {
		name       string
		say, after func(b *bench)
	}{
		{"refined, then moved", refined, func(b *bench) { b.Edits().Nudge(0, 1) }},
		{"refined, then grown", refined, func(b *bench) { b.Edits().Grow(1) }},
		{"refined, then another film", refined, func(b *bench) { b.strip.Step(1) }},
		{"refined, then dragged", refined, func(b *bench) {
			x, y := b.strip.Selected().Camera.ToView(measure.Point{X: cupX, Y: cupY})
			b.Edits().SetPart(Cup)
			b.Mouse().Press(Pointer{X: x, Y: y})
			b.Mouse().Move(Pointer{X: x + 5, Y: y})
			require.True(b.t, b.Mouse().Dragging())
		}},
		{"undone, then moved", undone, func(b *bench) { b.Edits().Nudge(0, 1) }},
		{"undone, then another film", undone, func(b *bench) { b.strip.Step(1) }},
		{"nothing to draw on, then entered", func(b *bench) { b.hipKnown = false; b.Mouse().SetTool(LineTool) }, func(b *bench) {
			require.NoError(b.t, b.SetHip(hip()))
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := opened(t)
			b.Viewer().ShowHip()
			c.say(b)
			require.NotEmpty(t, b.Notice())
			c.after(b)
			require.Empty(t, b.Notice())
		})
	}
}

// A film that was refined while another came into the viewer is named.
func TestNoticeNamesAnotherFilm(t *testing.T) {
	b := opened(t)
	b.Edits().RefineBoth()
	b.strip.Step(1)
	b.one()
	require.Equal(t, "Refined head and cup of film 1 to the edge.", b.Notice())
}

func TestAcceptanceIsStillSaidOnTheNextFilm(t *testing.T) {
	b, _ := inStudy(t)
	require.NoError(t, b.Accept())
	require.True(t, b.strip.NextPending())
	require.Contains(t, b.Notice(), "Accepted and saved: film 1")
	b.strip.Step(1)
	require.Empty(t, b.Notice())
}

// A search that is over is not said to go on.
func TestSearchForAnotherViewIsNotSaidToGoOn(t *testing.T) {
	b := opened(t)
	b.strip.Step(1)
	b.Edits().Nudge(1, 0)
	require.NoError(t, b.given.SetView(study.Lateral))
	b.drain()
	require.Equal(t, "Film 2 is searched again as a lateral film; your outlines stay, 2 shows what is proposed.", b.Notice())
}

func TestFilmWithWithdrawnReadingsSaysWhyItStays(t *testing.T) {
	b, _ := inStudy(t)
	require.NoError(t, b.Accept())
	b.history.Undo()
	b.strip.Remove(0)
	require.Len(t, b.strip.Films(), 5)
	require.Equal(t, "Film 1 stays in the strip: the study keeps its readings, withdrawn ones as well. X leaves it out of the trend.", b.Notice())
}

func TestAxesAreToldAndUndone(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.given.SetView(study.Lateral))
	b.drain()
	require.ErrorIs(t, b.Numbers(b.strip.Selected()).Err, study.ErrNoAxes)
	require.Error(t, b.given.SetAxes(study.Axes{Head: "left", Front: "right"}), "no two edges that meet")
	require.NoError(t, b.given.SetAxes(study.Axes{Head: "left", Front: "up"}))
	require.NoError(t, b.Numbers(b.strip.Selected()).Err)
	require.Equal(t, "tell the edges of film 1", b.history.UndoName())
	b.history.Undo()
	require.ErrorIs(t, b.Numbers(b.strip.Selected()).Err, study.ErrNoAxes)
}
