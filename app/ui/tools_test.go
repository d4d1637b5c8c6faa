package ui

import (
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"github.com/stretchr/testify/require"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// event is a mouse event over a film point of the selected film.
func (d *desk) event(x, y float64) *desktop.MouseEvent {
	vx, vy := d.s.Strip().Selected().Camera.ToView(measure.Point{X: x, Y: y})
	return &desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(float32(vx), float32(vy))}, Button: desktop.MouseButtonPrimary}
}

func (d *desk) click(x, y float64) {
	p := d.films.view.pane
	p.MouseMoved(d.event(x, y))
	p.MouseDown(d.event(x, y))
	p.MouseUp(d.event(x, y))
	d.drain()
}

// dragFilm drags from one film point to another, as the toolkit tells it.
func (d *desk) dragFilm(x0, y0, x1, y1 float64) {
	p := d.films.view.pane
	p.MouseMoved(d.event(x0, y0))
	p.MouseDown(d.event(x0, y0))
	p.Dragged(&fyne.DragEvent{PointEvent: d.event(x1, y1).PointEvent})
	p.MouseUp(d.event(x1, y1))
	p.DragEnd()
	d.drain()
}

// shown is a desk whose viewer has been painted, so that it knows its size.
func shown(t *testing.T) *desk {
	d, _ := proposed(t, series...)
	d.win.Canvas().Capture()
	d.drain()
	return d
}

func (d *desk) scene() (lines, rings, handles int) {
	sc := scene(d.s, d.films.view.layers, 800, 600, 1)
	return len(sc.Lines), len(sc.Rings), len(sc.Handles)
}

func TestCircleIsDrawnByKeyAndClicks(t *testing.T) {
	d := shown(t)
	f := d.s.Strip().Selected()
	before := f.Draft.Head.At
	d.letter('a')
	require.Equal(t, session.CircleTool, d.s.Mouse().Tool())
	d.click(140, 200)
	d.click(200, 140)
	_, _, handles := d.scene()
	require.Equal(t, 2, handles, "the points placed so far")
	d.click(260, 200)
	require.InDelta(t, 60, f.Draft.Head.At.R, 0.01)
	require.Equal(t, "Undo: draw head, film 1", d.bar.undo.Text)
	_, _, handles = d.scene()
	require.Equal(t, 3, handles, "by which the circle can be held")

	d.dragFilm(260, 200, 280, 200)
	require.InDelta(t, 70, f.Draft.Head.At.R, 1)
	d.win.Canvas().(interface{ TypedShortcut(fyne.Shortcut) }).TypedShortcut(&fyne.ShortcutUndo{})
	require.InDelta(t, 60, f.Draft.Head.At.R, 0.01)
	d.win.Canvas().(interface{ TypedShortcut(fyne.Shortcut) }).TypedShortcut(&fyne.ShortcutUndo{})
	require.Equal(t, before, f.Draft.Head.At)
}

// A cup that only stands where the program put it cannot be accepted.
func TestHalfDrawnFilmIsNotAccepted(t *testing.T) {
	d, _ := proposed(t, "2013-01-01.dcm")
	d.win.Canvas().Capture()
	d.drain()
	d.letter('a')
	for _, p := range [][2]float64{{140, 200}, {200, 140}, {260, 200}} {
		d.click(p[0], p[1])
	}
	d.drain()
	require.NotNil(t, d.s.Strip().Selected().Draft)
	require.Contains(t, d.films.side.message.Text, "the cup is only roughly in place")
	require.True(t, d.films.side.accept.Disabled())
	d.key(fyne.KeyReturn, false)
	require.False(t, d.covered(), "nobody is asked who reads")
	require.Contains(t, d.s.Notice(), "Not accepted: the cup is only roughly in place")
}

func TestLinesAreDrawnAndSeen(t *testing.T) {
	d := shown(t)
	d.letter('j')
	d.dragFilm(60, 330, 340, 330)
	require.Equal(t, study.Drawn, d.s.Strip().Selected().Draft.Line.From)
	lines, _, _ := d.scene()
	require.Equal(t, 1, lines)
	d.letter('u')
	d.click(110, 110)
	d.key(fyne.KeyEscape, false)
	require.Equal(t, session.Hand, d.s.Mouse().Tool(), "Escape gives up")
	d.letter('u')
	d.click(110, 110)
	d.click(290, 290)
	lines, _, handles := d.scene()
	require.Equal(t, 2, lines)
	require.Equal(t, 4, handles)
	found := false
	for _, row := range figures(d.s, d.s.Strip().Selected()) {
		if row.Name == "inclination" {
			found = true
			require.Equal(t, "45.0", row.Value)
		}
	}
	require.True(t, found)
}

func TestWireRingReplacesTheCircle(t *testing.T) {
	d := shown(t)
	d.letter('w')
	d.click(80, 205)
	d.click(320, 205)
	d.click(200, 235)
	sc := scene(d.s, d.films.view.layers, 800, 600, 1)
	require.Len(t, sc.Wires, 1)
	require.InDelta(t, 30, sc.Wires[0].B, 0.01)
	require.Zero(t, sc.Rings[0].Width, "of the circle through its long axis only the centre is shown")
	require.Len(t, sc.Handles, 4, "the ends of both axes")
}

func TestHandleGrowsUnderThePointer(t *testing.T) {
	d := shown(t)
	c := d.s.Strip().Selected().Draft.Cup.At
	d.films.view.pane.MouseMoved(d.event(c.X+c.R, c.Y))
	d.drain()
	sc := scene(d.s, d.films.view.layers, 800, 600, 1)
	require.Len(t, sc.Handles, 1)
	require.True(t, sc.Handles[0].Grown)
	require.InDelta(t, c.X+c.R, sc.Handles[0].X, 0.01)
	require.Equal(t, desktop.PointerCursor, d.films.view.pane.Cursor())
	d.films.view.pane.MouseOut()
	d.drain()
	_, _, handles := d.scene()
	require.Zero(t, handles)
}

func TestLoupeIsSwitchedByATapAndShownWhileHeld(t *testing.T) {
	d := shown(t)
	p := d.films.view.pane
	q := &fyne.KeyEvent{Name: fyne.KeyQ}
	seen := func() bool { return scene(d.s, d.films.view.layers, 800, 600, 1).Loupe != nil }
	p.MouseMoved(d.event(200, 200))
	p.KeyDown(q)
	require.True(t, seen())
	p.KeyUp(q)
	require.True(t, seen(), "a tap switches it on")
	p.KeyDown(q)
	p.KeyUp(q)
	require.False(t, seen())
	p.KeyDown(q)
	d.films.view.loupe = time.Now().Add(-time.Second) // held for long
	p.KeyUp(q)
	require.False(t, seen(), "it was shown while the key was held")
	d.letter('.')
	require.True(t, seen(), "on the rim")
	d.key(fyne.KeyEscape, false)
	require.False(t, seen())
}

func TestLocalContrastAndLateralMark(t *testing.T) {
	d := shown(t)
	d.letter('s')
	sc := scene(d.s, d.films.view.layers, 800, 600, 1)
	require.Greater(t, sc.Local.R, 125.0)
	require.Equal(t, "local contrast inside the cup", sc.Marks[len(sc.Marks)-1].Text)
	d.letter('s')
	require.Zero(t, scene(d.s, d.films.view.layers, 800, 600, 1).Local.R)
	d.letter('y')
	require.Equal(t, "lateral film", scene(d.s, d.films.view.layers, 800, 600, 1).Marks[0].Text)
	d.s.History().Undo()
	require.Equal(t, "R", scene(d.s, d.films.view.layers, 800, 600, 1).Marks[0].Text)
}

func TestEscapePutsAwayWhatIsInHand(t *testing.T) {
	d := shown(t)
	d.s.Viewer().SetCompare(session.Blend)
	d.letter(',')
	d.letter('j')
	d.key(fyne.KeyEscape, false)
	require.Equal(t, session.Hand, d.s.Mouse().Tool())
	require.Equal(t, session.AtRim, d.s.Viewer().LoupeIs())
	d.key(fyne.KeyEscape, false)
	require.Equal(t, session.NoLoupe, d.s.Viewer().LoupeIs())
	require.Equal(t, session.Blend, d.s.Viewer().Compare())
	d.key(fyne.KeyEscape, false)
	require.Equal(t, session.Alone, d.s.Viewer().Compare())
}

func TestLookIsSwitchedAndRemembered(t *testing.T) {
	t.Cleanup(func() { widgets.Use(widgets.Dark) })
	d := shown(t)
	d.letter('e')
	d.press("Light")
	require.True(t, d.s.Light())
	require.Equal(t, widgets.Light.Ground, widgets.Ground)
	require.Len(t, d.films.strip.cards, 4, "the films are still there")
	require.True(t, d.films.proof.object.Visible(), "and so are the residuals")
	require.Equal(t, onFilm.Head, scene(d.s, d.films.view.layers, 800, 600, 1).Rings[1].Color, "a film is drawn on as before")
	d.key(fyne.KeyPageDown, false)
	require.Equal(t, 1, d.s.Strip().SelectedIndex(), "keys work")
	d.press("Dark")
	require.False(t, d.s.Light())
	require.Equal(t, widgets.Dark.Ground, widgets.Ground)
	require.Same(t, d.films.view.pane, d.win.Canvas().Focused())
}

func TestLanguageIsSwitchedAndRemembered(t *testing.T) {
	t.Cleanup(func() {
		texts.Use(texts.English)
		require.NoError(t, speakToo())
	})
	d := shown(t)
	d.letter('e')
	d.speak("de")
	require.Equal(t, "de", d.s.Language())
	require.True(t, d.films.proof.object.Visible(), "the residuals are still there")
	require.Equal(t, "0,31", signed(0.314, 2))
	require.Equal(t, "1,5", number(1.5))
	d.press("Hell")
	d.press("Dunkel")
	d.speak(texts.English)
	require.Equal(t, texts.English, d.s.Language())
	require.Equal(t, "0.31", signed(0.314, 2))
	d.press("Light")
	d.press("Dark")
}

func TestWindowStaysWithinTheSmallestScreen(t *testing.T) {
	d := shown(t)
	d.letter('e')
	d.drain()
	min := d.win.Content().MinSize()
	require.LessOrEqual(t, min.Width, float32(1280))
	require.LessOrEqual(t, min.Height, float32(720))
}
