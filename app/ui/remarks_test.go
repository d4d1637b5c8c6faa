package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// What puts an outline in doubt stands before the numbers, in sight on the smallest
// screen; what the file lacks stands after them, in plain words.
func TestDoubtsOfOutlinesComeFirst(t *testing.T) {
	d, _ := proposed(t, series...)
	f := d.s.Strip().Selected()
	draft := *f.Draft
	draft.Found = []study.Warning{
		{Code: measure.OutlineMisfit, Text: "the head's outline fits badly"},
		{Code: measure.HeadHidden, Text: "the head hardly shows"},
		{Code: measure.SideUnproven, Text: "the side is not proven"},
		{Code: study.WarnFile, Text: "VOI LUT Function (0028,1056) is \"X\", which the standard does not know"},
		{Code: study.WarnFile, Text: "another"},
		study.WarnNoSpacing(),
	}
	f.Draft = &draft
	d.s.Edits().SetPart(measure.Cup)
	d.drain()
	d.win.Resize(fyne.NewSize(1280, 721)) // lays all out, as a driver would
	d.win.Resize(fyne.NewSize(1280, 720))
	side := d.films.side
	require.Equal(t, []string{"the head's outline fits badly", "the head hardly shows", "the side is not proven"}, side.first.said)
	require.True(t, side.first.object.Visible())
	place := func(o fyne.CanvasObject) float32 { return fyne.CurrentApp().Driver().AbsolutePositionForObject(o).Y }
	end := place(side.first.object) + side.first.object.Size().Height
	require.LessOrEqual(t, end, place(side.figures))
	require.Less(t, end, place(side.refine), "in sight without scrolling")
	require.Less(t, place(side.figures), place(side.after.object))
	require.Contains(t, side.after.said, "2 entries of the file are not as they should be; Details tells which.")
	require.Contains(t, side.after.said, "The file does not say how large a pixel is at the detector: the head diameter cannot be checked against it.")
	for _, text := range side.after.said {
		require.NotContains(t, text, "(0028")
	}
}

// Where movement is counted from another film, the side panel and the trend page say so.
func TestBaselineIsExplained(t *testing.T) {
	d, _ := proposed(t, series...)
	d.s.Strip().Films()[0].Excluded = &study.Exclusion{Code: "exposure"}
	d.s.Course().TryStart(0.5)
	d.s.Strip().Select(2)
	d.drain()
	const said = "Movement is counted from film 2 of 2005-01-01: film 1 of 2004-02-01 is left out."
	require.Equal(t, said, d.films.side.after.said[0])
	d.letter('p')
	require.Contains(t, of[*coursePage](d).said.Text, said)
}

// A rim that was found for another outline is not said to be that of this one.
func TestRimIsNotAsFoundAfterAMove(t *testing.T) {
	d, _ := proposed(t, series...)
	f := d.s.Strip().Selected()
	draft := *f.Draft
	e := measure.Ellipse{X: 200, Y: 205, A: 125, B: 30, Angle: 40}
	draft.Rim = study.Rim{A: e.At(180), B: e.At(0), Found: e}
	f.Draft = &draft
	names := func() (out []string) {
		for _, r := range figures(d.s, f) {
			out = append(out, r.Name)
		}
		for _, l := range scene(d.s, layers{outlines: true}, 800, 600, 1).Labels {
			out = append(out, l.Text)
		}
		return out
	}
	require.Contains(t, names(), "rim as found")
	require.Contains(t, names(), "Cup, rim as found, to the image rows")
	d.s.Edits().SetPart(measure.Cup)
	d.s.Edits().Nudge(2, 0)
	require.Contains(t, names(), "rim found before the cup was moved")
	require.Contains(t, names(), "Cup, rim of before the move, to the image rows")
	require.NotContains(t, names(), "rim as found")
}
