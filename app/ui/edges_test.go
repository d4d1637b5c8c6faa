package ui

import (
	"testing"

	"fyne.io/fyne/v2/widget"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// Where nothing tells how the patient lies on a lateral film, the reader can.
func TestEdgesOfALateralFilmAreTold(t *testing.T) {
	d, _ := proposed(t, series...)
	d.s.Strip().Select(3)
	d.letter('y')
	d.drain()
	require.Contains(t, d.films.side.message.Text, "No reading: the lateral film does not tell")
	d.press("Tell how the patient lies …")
	groups := onScreen[*widget.RadioGroup](d.win)
	require.Len(t, groups, 2)
	require.Len(t, groups[1].Options, 4)
	groups[1].SetSelected("right edge")
	groups[0].SetSelected("left edge")
	require.Empty(t, groups[1].Selected, "the front is not where the feet are")
	require.Equal(t, []string{"upper edge", "lower edge"}, groups[1].Options, "those that meet it")
	groups[1].SetSelected("upper edge")
	d.press("Use these edges")
	d.drain()
	require.Equal(t, study.Axes{Head: "left", Front: "up"}, d.s.Strip().Selected().Given.Axes)
	require.False(t, d.films.side.edges.Visible())
	require.Equal(t, "lateral film · head end towards the left edge, front towards the upper edge",
		scene(d.s, layers{}, 800, 600, 1).Marks[0].Text)
	menu := d.films.view.tools.draw()
	require.Equal(t, "Edges of the lateral film …", menu[len(menu)-1].Label, "to be changed")
	d.s.History().Undo()
	d.drain()
	require.True(t, d.films.side.edges.Visible())
}
