package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

const longCode = "REGISTER-2006-CENTRE-0007-PATIENT-000058"

func TestMiddleIsShortened(t *testing.T) {
	require.Equal(t, "T1", middle("T1", 20))
	require.Equal(t, "ab…ef", middle("abcdef", 5))
	require.Equal(t, "REGISTER-2…NT-000058", middle(longCode, 20))
	require.Len(t, []rune(middle(longCode, 20)), 20)
}

// A long code leaves the side to be seen, and stands whole in a tip.
func TestLongCodeLeavesTheSide(t *testing.T) {
	d, _ := proposed(t, series...)
	h, _ := d.s.Hip()
	h.Patient = "Q7"
	require.NoError(t, d.s.SetHip(h))
	d.drain()
	wide := d.win.Content().MinSize().Width
	h.Patient = longCode
	require.NoError(t, d.s.SetHip(h))
	d.drain()
	for _, h := range []study.Hip{h, {Patient: "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW", Side: measure.Left}} {
		text := hipTitleIn(h, d.films.side.titleWidth())
		require.Contains(t, text, "…")
		require.Contains(t, text, h.Side.String()+" hip")
		require.LessOrEqual(t, fyne.MeasureText(text, theme.TextSize(), fyne.TextStyle{Bold: true}).Width, d.films.side.titleWidth())
	}
	require.Contains(t, d.films.side.hip.Text, "right hip")
	for _, o := range onScreen[*tipped](d.win) {
		if o.shown == fyne.CanvasObject(d.films.side.hip) {
			o.MouseIn(&desktop.MouseEvent{PointEvent: fyne.PointEvent{AbsolutePosition: fyne.NewPos(1000, 60)}})
			require.Equal(t, longCode+" · right hip", d.tip.text)
			o.MouseOut()
		}
	}
	require.Empty(t, d.tip.text)
	require.LessOrEqual(t, d.win.Content().MinSize().Width, wide, "a fault that names the code does not widen the window")
	d.letter('p')
	require.Contains(t, of[*coursePage](d).title.Text, "REGISTER-2…NT-000058 · right hip · ")
}
