package session

import (
	"image"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
	"linerwatch/measure"
)

type filmFile = dicomio.Film

// at returns the view point of a film point.
func at(s *Session, x, y float64) Pointer {
	vx, vy := s.strip.Selected().Camera.ToView(measure.Point{X: x, Y: y})
	return Pointer{X: vx, Y: vy}
}

func TestCameraKeepsThePointUnderThePointer(t *testing.T) {
	c := Camera{X: 100, Y: -20, Zoom: 0.7}
	for _, factor := range []float64{0.001, 0.5, 1.15, 3, 1e6} {
		z := c.ZoomedAt(333, 217, factor)
		before, after := c.ToFilm(333, 217), z.ToFilm(333, 217)
		require.InDelta(t, before.X, after.X, 1e-9)
		require.InDelta(t, before.Y, after.Y, 1e-9)
		require.True(t, z.Zoom >= minZoom && z.Zoom <= maxZoom)
	}
	f := Fit(3000, 2000, 1600, 1000)
	x0, y0 := f.ToView(measure.Point{})
	x1, y1 := f.ToView(measure.Point{X: 3000, Y: 2000})
	require.InDelta(t, 1600, x0+x1, 1e-9, "centred")
	require.InDelta(t, 1000, y0+y1, 1e-9)
	require.InDelta(t, 1000, y1-y0, 1e-9, "as high as the view")
}

func TestDragCentreMovesTheOutlineAsOneStep(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	c := f.Draft.Head.At
	start := at(b.Session, c.X, c.Y)
	b.Mouse().Move(start)
	require.Equal(t, Centre, b.Mouse().Hover().Hold)
	// Head and cup centres lie near each other: the nearer one is gripped.
	require.Equal(t, measure.Head, b.Mouse().Hover().Part)
	b.Mouse().Press(start)
	for i := 1; i <= 10; i++ {
		p := at(b.Session, c.X+float64(i)*1.25, c.Y-float64(i)*0.5)
		b.Mouse().Move(p)
	}
	b.Mouse().Release(Pointer{})
	require.InDelta(t, c.X+12.5, f.Draft.Head.At.X, 1e-9)
	require.InDelta(t, c.Y-5, f.Draft.Head.At.Y, 1e-9)
	require.Equal(t, c.R, f.Draft.Head.At.R)
	require.Equal(t, "move head, film 1", b.history.UndoName())
	b.history.Undo()
	require.Equal(t, c, f.Draft.Head.At)
	require.Equal(t, Proposed, f.State())
	require.Empty(t, b.history.UndoName(), "the drag was one step")
	b.history.Redo()
	require.InDelta(t, c.X+12.5, f.Draft.Head.At.X, 1e-9)
}

// Where one centre hides the other the chosen outline is held, wherever in the reach
// of both the button goes down; where they lie apart, the nearer one.
func TestChosenOutlineIsHeldByACommonCentre(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	head, cup := f.Draft.Head.At, f.Draft.Cup.At
	require.Less(t, head.Center().Distance(cup.Center())*f.Camera.Zoom, 6.0)
	for _, chosen := range []measure.Part{measure.Cup, measure.Head} {
		for _, from := range []measure.Point{head.Center(), cup.Center(), {X: head.X + 4, Y: head.Y - 3}} {
			b.Edits().SetPart(chosen)
			b.drag(from.X, from.Y, from.X+20, from.Y+5)
			require.Equal(t, "move "+PartWord(chosen)+", film 1", b.history.UndoName())
			require.InDelta(t, 20, f.Draft.Trace(chosen).At.X-[...]float64{head.X, cup.X}[chosen], 1e-6)
			b.history.Undo()
			require.Equal(t, head, f.Draft.Head.At)
			require.Equal(t, cup, f.Draft.Cup.At)
		}
	}
	b.Edits().SetPart(Head)
	b.Edits().Nudge(0, -40)
	b.drag(cup.X, cup.Y, cup.X+20, cup.Y)
	require.Equal(t, "move cup, film 1", b.history.UndoName())
}

func TestDragRimChangesTheRadius(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	c := f.Draft.Cup.At
	from := at(b.Session, c.X-c.R, c.Y)
	b.Mouse().Press(from)
	b.Mouse().Move(at(b.Session, c.X-c.R-7.5, c.Y))
	b.Mouse().Release(Pointer{})
	require.InDelta(t, c.R+7.5, f.Draft.Cup.At.R, 1e-9)
	require.Equal(t, c.Center(), f.Draft.Cup.At.Center())
	require.Equal(t, "resize cup, film 1", b.history.UndoName())
	require.Equal(t, measure.Cup, b.Edits().Part())
}

func TestDragElsewherePansAndSecondaryDragSetsTheGreys(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	cam, level := f.Camera, f.Level
	b.Mouse().Press(Pointer{X: 5, Y: 5})
	b.Mouse().Move(Pointer{X: 25, Y: 35})
	b.Mouse().Release(Pointer{})
	require.InDelta(t, cam.X-20/cam.Zoom, f.Camera.X, 1e-9)
	require.InDelta(t, cam.Y-30/cam.Zoom, f.Camera.Y, 1e-9)
	require.Equal(t, level, f.Level)

	cam = f.Camera
	b.Mouse().Press(Pointer{X: 400, Y: 300, Button: Secondary})
	b.Mouse().Move(Pointer{X: 500, Y: 300, Button: Secondary})
	b.Mouse().Release(Pointer{})
	require.Equal(t, cam, f.Camera)
	require.Greater(t, f.Level.Width, level.Width)
	require.Empty(t, b.history.UndoName(), "a view is not a change of the reading")
}

func TestWithoutAButtonNothingIsDragged(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	before := *f.Draft
	b.Mouse().Move(at(b.Session, cupX, cupY))
	b.Mouse().Move(at(b.Session, cupX+50, cupY))
	b.Mouse().Release(Pointer{})
	require.Equal(t, before, *f.Draft)
}

func TestNudgesInQuickSuccessionAreOneStep(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	c := f.Draft.Head.At
	b.cfg.Now = func() time.Time { b.now = b.now.Add(100 * time.Millisecond); return b.now }
	for range 5 {
		b.Edits().Nudge(0.1, 0)
	}
	require.InDelta(t, c.X+0.5, f.Draft.Head.At.X, 1e-9)
	b.now = b.now.Add(5 * time.Second)
	b.Edits().Nudge(0.1, 0)
	b.Edits().Grow(-0.1)
	require.Equal(t, "resize head, film 1", b.history.UndoName())
	b.history.Undo()
	b.history.Undo()
	require.InDelta(t, c.X+0.5, f.Draft.Head.At.X, 1e-9)
	b.history.Undo()
	require.Equal(t, c, f.Draft.Head.At)
}

func TestUndoShowsTheFilmItActsOn(t *testing.T) {
	b := opened(t)
	b.Edits().Nudge(1, 0)
	b.strip.Select(3)
	b.history.Undo()
	require.Equal(t, 0, b.strip.SelectedIndex())
}

func TestRefineIsDroppedWhereTheOutlineMovedMeanwhile(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	b.Edits().Nudge(2, 0)
	b.Edits().Refine()
	b.Edits().Nudge(5, 0)
	want := f.Draft.Head.At
	b.one()
	require.Equal(t, want, f.Draft.Head.At)
	b.Edits().Refine()
	b.one()
	require.InDelta(t, cupX, f.Draft.Head.At.X, 1e-9)
	require.Equal(t, "refine head, film 1", b.history.UndoName())

	b.Edits().Nudge(100, 0)
	want = f.Draft.Head.At
	b.Edits().Refine()
	b.one()
	require.Equal(t, want, f.Draft.Head.At, "no edge: nothing is moved")
	require.Contains(t, b.Notice(), "No edge to fit here")
}

func TestAutoLevelHoldsTheFilm(t *testing.T) {
	img := image.NewGray16(image.Rect(0, 0, 100, 100))
	for i := range 100 * 100 {
		v := 1000 + i*4 // 1000 to 40996
		img.Pix[2*i], img.Pix[2*i+1] = byte(v>>8), byte(v)
	}
	l := AutoLevel(img)
	require.InDelta(t, 1000+0.005*40000, l.Center-l.Width/2, 8)
	require.InDelta(t, 41000-0.005*40000, l.Center+l.Width/2, 8)
}

func TestMetalGreysPartHeadFromShell(t *testing.T) {
	img := image.NewGray16(image.Rect(0, 0, 300, 300))
	const bone, shell, head = 20000, 50000, 52000
	for y := range 300 {
		for x := range 300 {
			v := bone
			switch d := math.Hypot(float64(x)-150, float64(y)-150); {
			case d < 60:
				v = head
			case d < 100 && y < 170:
				v = shell
			}
			i := img.PixOffset(x, y)
			img.Pix[i], img.Pix[i+1] = byte(v>>8), byte(v)
		}
	}
	l, ok := metalLevel(img, measure.Circle{X: 150, Y: 150, R: 100})
	require.True(t, ok)
	shown := func(v float64) float64 { return min(max((v-l.Center)/l.Width+0.5, 0), 1) }
	require.Greater(t, shown(head)-shown(shell), 0.5, "half of the greys lie between head and shell")
	film := AutoLevel(img)
	require.Less(t, (head-shell)/film.Width, 0.1)
	_, ok = metalLevel(img, measure.Circle{X: -500, Y: 150, R: 100})
	require.False(t, ok)
}
