package widgets

import (
	"image"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"github.com/stretchr/testify/require"
)

// log keeps what a viewer reports.
type log struct {
	press, move, scroll [][3]float64
	released, left      int
	keys                []fyne.KeyName
	shifted             []bool
	runes               string
}

func watched(t *testing.T, size fyne.Size) (*Viewer, *log, fyne.Window) {
	test.NewTempApp(t)
	v, l := NewViewer(), &log{}
	v.Draw = func(w, h int, scale float64) image.Image { return image.NewRGBA(image.Rect(0, 0, w, h)) }
	v.OnPress = func(x, y float64, b Button) { l.press = append(l.press, [3]float64{x, y, float64(b)}) }
	v.OnMove = func(x, y float64) { l.move = append(l.move, [3]float64{x, y}) }
	v.OnRelease = func(x, y float64) { l.released++ }
	v.OnLeave = func() { l.left++ }
	v.OnScroll = func(x, y, n float64) { l.scroll = append(l.scroll, [3]float64{x, y, n}) }
	v.OnKey = func(k fyne.KeyName, shift bool) { l.keys, l.shifted = append(l.keys, k), append(l.shifted, shift) }
	v.OnRune = func(r rune) { l.runes += string(r) }
	w := test.NewTempWindow(t, v)
	w.Resize(size)
	return v, l, w
}

func mouse(x, y float32, b desktop.MouseButton) *desktop.MouseEvent {
	return &desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x, y)}, Button: b}
}

func TestViewerReportsPointerInDevicePixels(t *testing.T) {
	v, l, w := watched(t, fyne.NewSize(400, 300))
	v.generate(2*int(v.raster.Size().Width), 2*int(v.raster.Size().Height)) // a display with two pixels per unit
	v.MouseDown(mouse(10, 20, desktop.MouseButtonPrimary))
	v.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(12, 24)}})
	v.MouseUp(mouse(12, 24, desktop.MouseButtonPrimary))
	v.DragEnd()
	require.Equal(t, [][3]float64{{20, 40, float64(Primary)}}, l.press)
	require.Equal(t, [][3]float64{{24, 48}}, l.move)
	require.Equal(t, 2, l.released)
	require.Equal(t, fyne.Focusable(v), w.Canvas().Focused(), "a click takes the focus")

	v.MouseDown(mouse(1, 1, desktop.MouseButtonSecondary))
	v.MouseMoved(mouse(5, 5, desktop.MouseButtonSecondary))
	require.Equal(t, float64(Secondary), l.press[1][2])
	require.Equal(t, [3]float64{10, 10}, l.move[1])
	v.MouseOut()
	require.Equal(t, 1, l.left)
}

func TestViewerScrollsBySteps(t *testing.T) {
	v, l, _ := watched(t, fyne.NewSize(400, 300))
	v.generate(int(v.raster.Size().Width), int(v.raster.Size().Height))
	for _, dy := range []float32{notch, -notch, 1000, 0} {
		v.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(7, 8)}, Scrolled: fyne.NewDelta(0, dy)})
	}
	require.Equal(t, [][3]float64{{7, 8, 1}, {7, 8, -1}, {7, 8, 4}}, l.scroll)
}

func TestViewerKnowsShift(t *testing.T) {
	v, l, w := watched(t, fyne.NewSize(400, 300))
	w.Canvas().Focus(v)
	v.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	v.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	v.KeyUp(&fyne.KeyEvent{Name: desktop.KeyShiftLeft})
	v.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	v.KeyDown(&fyne.KeyEvent{Name: desktop.KeyShiftRight})
	w.Canvas().Unfocus() // the key is let go elsewhere
	v.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	require.Equal(t, []bool{true, false, false}, l.shifted)
	test.Type(v, "r")
	require.Equal(t, "r", l.runes)
}

func TestViewerShowsItsFocus(t *testing.T) {
	v, _, w := watched(t, fyne.NewSize(400, 300))
	require.False(t, v.ring.Visible())
	w.Canvas().Focus(v)
	require.True(t, v.ring.Visible())
	w.Canvas().Unfocus()
	require.False(t, v.ring.Visible())
}

func TestCardIsChosenByTapAndKeys(t *testing.T) {
	test.NewTempApp(t)
	n := 0
	c := NewCard(func() { n++ })
	w := test.NewTempWindow(t, c)
	test.Tap(c)
	w.Canvas().Focus(c)
	c.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
	c.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	c.TypedKey(&fyne.KeyEvent{Name: fyne.KeyA})
	require.Equal(t, 3, n)
	require.Equal(t, Focus, c.back.StrokeColor)
	c.Set(CardContent{Title: "2004-06-16", Line: "6 weeks", State: "proposed", StateColor: Watch, Selected: true})
	require.Equal(t, "2004-06-16", c.texts[0].Text)
	require.Equal(t, Raised, c.back.FillColor)
	require.True(t, c.mark.Visible())
}

func TestFiguresKeepTheirColumns(t *testing.T) {
	test.NewTempApp(t)
	f := NewFigures()
	w := test.NewTempWindow(t, f)
	w.Resize(fyne.NewSize(320, 200))
	f.Set([]Figure{{Name: "Penetration", Head: true}, {Name: "superior", Value: "0.97", SE: "0.02", Unit: "mm", Color: Shift}})
	require.InDelta(t, headHeight+figureHeight, f.MinSize().Height, 0.1)
	require.Equal(t, "± 0.02", f.texts[1][2].Text)
	require.Equal(t, Shift, f.texts[1][1].Color)
	f.Set(nil)
	require.Zero(t, f.MinSize().Height)
}

func TestChartReportsTaps(t *testing.T) {
	test.NewTempApp(t)
	c := NewChart()
	var taps [][2]float64
	c.OnTap = func(x, y float64) { taps = append(taps, [2]float64{x, y}) }
	c.OnHover = func(x, y float64) bool { return x > 50 }
	test.NewTempWindow(t, c).Resize(fyne.NewSize(300, 200))
	c.generate(int(c.raster.Size().Width), int(c.raster.Size().Height))
	c.Tapped(&fyne.PointEvent{Position: fyne.NewPos(30, 40)})
	require.Equal(t, [][2]float64{{30, 40}}, taps)
	c.MouseMoved(mouse(60, 1, 0))
	require.Equal(t, desktop.PointerCursor, c.Cursor())
	c.MouseMoved(mouse(40, 1, 0))
	require.Equal(t, desktop.DefaultCursor, c.Cursor())
}

func TestShortenKeepsTheEndOfACode(t *testing.T) {
	test.NewTempApp(t)
	const code = "multicentre-long-code-0299"
	wide := fyne.MeasureText(code, 12, fyne.TextStyle{}).Width
	require.Equal(t, code, shorten(code, wide, 12, 6))
	short := shorten(code, wide/2, 12, 6)
	require.True(t, strings.HasPrefix(short, "multi") && strings.HasSuffix(short, "…e-0299"), short)
	require.LessOrEqual(t, fyne.MeasureText(short, 12, fyne.TextStyle{}).Width, wide/2)
	require.True(t, strings.HasSuffix(shorten(code, wide/2, 12, 0), "…"))
}
