package session

import (
	"context"
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// click presses and lets go at a film point.
func (b *bench) click(x, y float64) {
	p := at(b.Session, x, y)
	b.Mouse().Move(p)
	b.Mouse().Press(p)
	b.Mouse().Release(p)
}

// on returns the point of a circle at an angle from +x towards +y, degrees.
func on(c measure.Circle, deg float64) (x, y float64) {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return c.X + c.R*cos, c.Y + c.R*sin
}

func TestCircleByThreeClicks(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	before := f.Draft.Head.At
	want := measure.Circle{X: 290, Y: 280, R: 120}
	b.Edits().SetPart(Head)
	b.Mouse().SetTool(CircleTool)
	require.Contains(t, b.Notice(), "Draw the head: click three points")
	for i, deg := range []float64{200, 320} {
		b.click(on(want, deg))
		require.Len(t, b.Mouse().Sketch().Points, i+1)
		require.Equal(t, before, f.Draft.Head.At, "nothing is changed yet")
	}
	b.Mouse().Move(at(b.Session, want.X, want.Y+want.R))
	require.InDelta(t, want.R, b.Mouse().Sketch().Circle.R, 1e-6, "the circle is shown before the last click")
	b.click(on(want, 90))
	require.Equal(t, Hand, b.Mouse().Tool(), "the tool is put away")
	got := f.Draft.Head
	require.InDelta(t, want.X, got.At.X, 1e-6)
	require.InDelta(t, want.Y, got.At.Y, 1e-6)
	require.InDelta(t, want.R, got.At.R, 1e-6)
	require.Equal(t, "draw head, film 1", b.history.UndoName())
	require.Equal(t, Edited, f.State())
	sd := math.Hypot(aimSD/f.Camera.Zoom, blurMM/f.Imager)
	require.InDelta(t, sd, got.By[0].SD, 1e-9)
	require.Greater(t, math.Sqrt(got.Outline().Cov[0][0]), 0.7*sd, "no edge is claimed")

	// Each of the three points can be held; the circle goes through it.
	px, py := on(want, 200)
	p := at(b.Session, px, py)
	b.Mouse().Move(p)
	require.Equal(t, Grip{Head, Point, 0}, b.Mouse().Hover())
	b.Mouse().Press(p)
	b.Mouse().Move(at(b.Session, px-10, py+4))
	b.Mouse().Release(p)
	require.InDelta(t, 0, f.Draft.Head.At.Distance(measure.Point{X: px - 10, Y: py + 4}), 1e-6)
	x, y := on(want, 320)
	require.InDelta(t, 0, f.Draft.Head.At.Distance(measure.Point{X: x, Y: y}), 1e-6, "the others stay")
	require.Equal(t, "move a point of the head, film 1", b.history.UndoName())
	b.history.Undo()
	require.Equal(t, got.At, f.Draft.Head.At)

	// Nudged, nobody has clicked the points that it goes through.
	b.Edits().Nudge(3, 0)
	require.Empty(t, f.Draft.Head.By)
	for _, h := range b.Mouse().Handles() {
		require.NotEqual(t, Point, h.Hold)
	}
	b.history.Undo()
	require.Len(t, f.Draft.Head.By, 3)
	b.history.Undo()
	require.Equal(t, before, f.Draft.Head.At)
	b.history.Redo()
	require.Equal(t, got.At, f.Draft.Head.At)
}

func TestTheOtherOutlineIsDrawnFromItsFirstPoint(t *testing.T) {
	b := opened(t)
	before := *b.strip.Selected().Draft
	b.Edits().SetPart(Head)
	b.Mouse().SetTool(CircleTool)
	b.click(250, 300)
	b.Edits().SetPart(Cup)
	require.Contains(t, b.Notice(), "Draw the cup")
	require.Empty(t, b.Mouse().Sketch().Points)
	require.Equal(t, before, *b.strip.Selected().Draft)
}

func TestPointsOnALineDrawNothing(t *testing.T) {
	b := opened(t)
	before := *b.strip.Selected().Draft
	b.Mouse().SetTool(CircleTool)
	for i := range 3 {
		b.click(250+float64(i)*30, 300)
	}
	require.Contains(t, b.Notice(), "nearly on a line")
	require.Equal(t, CircleTool, b.Mouse().Tool(), "to be tried again")
	require.Equal(t, before, *b.strip.Selected().Draft)
	require.Empty(t, b.history.UndoName())
	require.True(t, b.Mouse().CancelTool())
	require.False(t, b.Mouse().CancelTool())
}

func TestHeadAndCupDrawnWhereNothingWasFound(t *testing.T) {
	b := newBench(t)
	b.refuse["2004-02-01.dcm"] = "the film shows no hip"
	dir := t.TempDir()
	b.strip.Add([]string{touch(t, dir, "2004-02-01.dcm")})
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	f := b.strip.Selected()
	require.Nil(t, f.Draft)
	head, cup := measure.Circle{X: 300, Y: 300, R: 140}, measure.Circle{X: 300, Y: 310, R: 250}
	b.Mouse().SetTool(CircleTool)
	for _, deg := range []float64{190, 270, 350} {
		b.click(on(head, deg))
	}
	require.NotNil(t, f.Draft)
	require.Equal(t, CircleTool, b.Mouse().Tool(), "the cup is next")
	require.Equal(t, Cup, b.Edits().Part())
	require.Contains(t, study.Told(b.Numbers(f).Err), "the cup is only roughly in place", "no number comes from it")
	b.Mouse().SetTool(CircleTool)
	require.Equal(t, CircleTool, b.Mouse().Tool(), "taken again it stays in hand")
	for _, deg := range []float64{190, 270, 350} {
		b.click(on(cup, deg))
	}
	require.Equal(t, Hand, b.Mouse().Tool())
	require.InDelta(t, 140, f.Draft.Head.At.R, 1e-6)
	require.InDelta(t, 250, f.Draft.Cup.At.R, 1e-6)
	n := b.Numbers(f)
	require.NoError(t, n.Err)
	require.InDelta(t, 1, n.Reading.Offset.Superior, 1e-6, "10 px of 0.1 mm")
	b.history.Undo()
	b.history.Undo()
	require.Nil(t, f.Draft)
}

func TestReferenceLineByTwoClicksOrOneDrag(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	b.Mouse().SetTool(LineTool)
	b.click(100, 500)
	b.Mouse().Move(at(b.Session, 500, 514))
	require.Equal(t, study.Drawn, f.Draft.Line.From, "it is seen while it is drawn")
	b.Mouse().CancelTool()
	require.Equal(t, study.NoLine, f.Draft.Line.From)
	require.Empty(t, b.history.UndoName())
	require.Equal(t, Proposed, f.State())

	b.Mouse().SetTool(LineTool)
	b.click(100, 500)
	b.click(500, 514)
	require.InDelta(t, 2.0045, f.Draft.Line.Alpha, 1e-3)
	require.Equal(t, "draw the reference line, film 1", b.history.UndoName())
	b.history.Undo()
	require.Equal(t, study.NoLine, f.Draft.Line.From)

	b.Mouse().SetTool(LineTool)
	p, q := at(b.Session, 100, 500), at(b.Session, 500, 500)
	b.Mouse().Press(p)
	b.Mouse().Move(q)
	b.Mouse().Release(q)
	require.InDelta(t, 0, f.Draft.Line.Alpha, 1e-9)
	require.Equal(t, Hand, b.Mouse().Tool())

	b.Mouse().Move(q)
	require.Equal(t, LineEnd, b.Mouse().Hover().Hold)
	b.Mouse().Press(q)
	b.Mouse().Move(at(b.Session, 500, 507))
	b.Mouse().Release(q)
	require.InDelta(t, 1.0026, f.Draft.Line.Alpha, 1e-3)
	require.Equal(t, "move the reference line, film 1", b.history.UndoName())
	b.history.Undo()
	require.InDelta(t, 0, f.Draft.Line.Alpha, 1e-9)
}

func TestRimLineTellsInclinationAndCanBeMoved(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	b.Mouse().SetTool(RimTool)
	b.click(300-170, 310-170)
	b.click(300+170, 310+170)
	o, ok := b.Numbers(f).Orientation()
	require.True(t, ok)
	require.InDelta(t, 45, o.Inclination, 1e-9)
	require.Equal(t, "draw the rim line, film 1", b.history.UndoName())
	p := at(b.Session, 470, 480)
	b.Mouse().Move(p)
	require.Equal(t, Grip{b.Edits().Part(), RimEnd, 1}, b.Mouse().Hover())
	b.Mouse().Press(p)
	b.Mouse().Move(at(b.Session, 470, 440))
	b.Mouse().Release(p)
	require.Equal(t, measure.Point{X: 470, Y: 440}, rounded(f.Draft.Rim.B))
	require.Equal(t, "move the rim line, film 1", b.history.UndoName())
	b.history.Undo()
	b.Edits().ClearRim()
	require.False(t, f.Draft.Rim.Drawn())
	b.history.Undo()
	require.True(t, f.Draft.Rim.Drawn())
}

func rounded(p measure.Point) measure.Point {
	return measure.Point{X: math.Round(p.X*1e6) / 1e6, Y: math.Round(p.Y*1e6) / 1e6}
}

func TestWireRingByThreeClicksAndItsHandles(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	b.Mouse().SetTool(RingTool)
	b.click(60, 310)
	b.click(540, 310)
	b.click(300, 370)
	require.Equal(t, measure.Wire, f.Draft.CupKind)
	ring := f.Draft.Cup.Outline().Ring
	require.InDelta(t, 240, ring.A, 1e-6)
	require.InDelta(t, 60, ring.B, 1e-6)
	require.InDelta(t, 300, f.Draft.Cup.At.X, 1e-6)
	require.InDelta(t, 240, f.Draft.Cup.At.R, 1e-6)
	require.Equal(t, "draw the wire ring, film 1", b.history.UndoName())
	o, ok := b.Numbers(f).Orientation()
	require.True(t, ok)
	require.InDelta(t, math.Asin(0.25)*180/math.Pi, o.Anteversion, 0.1) // in a usual beam, of a cup that lies flat

	b.drag(540, 310, 540, 400) // the long axis turns about its other end
	ring = f.Draft.Cup.Outline().Ring
	require.InDelta(t, math.Hypot(480, 90)/2, ring.A, 1e-6)
	require.InDelta(t, math.Atan2(90, 480)*180/math.Pi, ring.Angle, 1e-6)
	require.Equal(t, "reshape the wire ring, film 1", b.history.UndoName())
	b.history.Undo()

	b.drag(300, 370, 300, 400)
	require.InDelta(t, 90, f.Draft.Cup.Outline().Ring.B, 1e-6)
	require.InDelta(t, 240, f.Draft.Cup.Outline().Ring.A, 1e-6)
	b.drag(300, 310, 310, 300)
	require.InDelta(t, 310, f.Draft.Cup.Outline().Ring.X, 1e-6, "moved as a whole")
	require.InDelta(t, 90, f.Draft.Cup.Outline().Ring.B, 1e-6)
	for range 3 {
		b.history.Undo()
	}
	require.Equal(t, measure.Shell, f.Draft.CupKind)
	require.Zero(t, f.Draft.Cup.Outline().Ring.A)
}

func TestRefineSettlesAWireRingFromWhereItLies(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	b.Mouse().SetTool(RingTool)
	b.click(60, 310)
	b.click(540, 310)
	b.click(300, 370)
	b.drag(300, 310, 330, 290)
	dragged := f.Draft.Cup.Outline().Ring
	require.InDelta(t, 330, dragged.X, 1e-6)
	settled := outline(measure.Circle{X: 301, Y: 309, R: 238})
	settled.Ring = measure.Ellipse{X: 301, Y: 309, A: 238, B: 55, Angle: 2}
	b.cfg.RefineRing = func(_ *image.Gray16, start measure.Ellipse, head measure.Circle, headMM float64) (measure.Outline, error) {
		require.Equal(t, dragged, start)
		require.Equal(t, f.Draft.Head.At, head)
		require.Equal(t, hip().Implant.HeadMM, headMM)
		return settled, nil
	}
	b.Edits().Refine()
	b.one()
	require.Equal(t, settled, f.Draft.Cup.Outline())
	require.Equal(t, measure.Wire, f.Draft.CupKind)
	require.Equal(t, "refine cup, film 1", b.history.UndoName())
	b.history.Undo()
	require.Equal(t, dragged, f.Draft.Cup.Outline().Ring)
}

func (b *bench) drag(x0, y0, x1, y1 float64) {
	from, to := at(b.Session, x0, y0), at(b.Session, x1, y1)
	b.Mouse().Move(from)
	b.Mouse().Press(from)
	b.Mouse().Move(to)
	b.Mouse().Release(to)
}

func TestRingRefusesWhatIsNone(t *testing.T) {
	p := func(x, y float64) measure.Click { return measure.Click{Point: measure.Point{X: x, Y: y}} }
	_, err := ringBy([]measure.Click{p(0, 0), p(100, 0), p(120, 10)})
	require.Contains(t, study.Told(err), "between the ends")
	_, err = ringBy([]measure.Click{p(0, 0), p(100, 0), p(50, 80)})
	require.Contains(t, study.Told(err), "wider across")
	for _, x := range []float64{1, 3} {
		_, err = ringBy([]measure.Click{p(1, 1), p(x, 1), p(1.5, 1)})
		require.Error(t, err)
	}
}

func TestToolsNeedAFilmAndAHip(t *testing.T) {
	b := newBench(t)
	b.Mouse().SetTool(CircleTool)
	require.Equal(t, Hand, b.Mouse().Tool())
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-02-01.dcm")})
	b.drain()
	b.Mouse().SetTool(CircleTool)
	require.Equal(t, Hand, b.Mouse().Tool())
	require.Equal(t, "Enter implant and dates first.", b.Notice())
}

func TestAnotherFilmEndsTheSketch(t *testing.T) {
	b := opened(t)
	b.Mouse().SetTool(LineTool)
	b.click(100, 500)
	b.Mouse().Move(at(b.Session, 400, 500))
	b.strip.Step(1)
	require.Equal(t, Hand, b.Mouse().Tool())
	require.Equal(t, study.NoLine, b.strip.Films()[0].Draft.Line.From)
}

func TestLoupeFollowsPointerAndRim(t *testing.T) {
	b := opened(t)
	_, _, ok := b.Viewer().Loupe()
	require.False(t, ok)
	b.Viewer().ToggleLoupe()
	b.Mouse().Move(at(b.Session, 200, 150))
	where, p, ok := b.Viewer().Loupe()
	require.True(t, ok)
	require.Equal(t, AtPointer, where)
	require.InDelta(t, 200, p.X, 1e-9)
	b.Mouse().Leave()
	_, _, ok = b.Viewer().Loupe()
	require.False(t, ok, "the pointer has left")

	b.Edits().SetPart(Cup)
	b.Viewer().WalkRim(5) // first it goes to the rim, then along it
	where, p, ok = b.Viewer().Loupe()
	require.True(t, ok)
	require.Equal(t, AtRim, where)
	require.InDelta(t, cupX, p.X, 1e-9)
	require.InDelta(t, cupY-cupRadius, p.Y, 1e-9)
	for range 18 {
		b.Viewer().WalkRim(5)
	}
	_, p, _ = b.Viewer().Loupe()
	require.InDelta(t, cupX+cupRadius, p.X, 1e-6, "a quarter clockwise")
	b.Viewer().WalkRim(-95)
	require.InDelta(t, 355, b.Viewer().RimAngle(), 1e-9)
	b.Edits().Nudge(1, 0)
	_, q, _ := b.Viewer().Loupe()
	require.NotEqual(t, p, q, "it goes with the outline")
	b.Viewer().ToggleLoupe()
	_, _, ok = b.Viewer().Loupe()
	require.False(t, ok)
}

func TestLocalContrastLeavesValuesAndFollowsTheCup(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	pixels := append([]byte(nil), f.Pixels().Pix...)
	level := f.Level
	_, ok := b.Viewer().Local(f)
	require.False(t, ok)
	b.Viewer().ToggleLocal()
	c, ok := b.Viewer().Local(f)
	require.True(t, ok)
	require.GreaterOrEqual(t, c.R, f.Draft.Cup.At.R)
	b.Edits().SetPart(Cup)
	b.Edits().Nudge(0.5, 0)
	again, _ := b.Viewer().Local(f)
	require.Equal(t, c, again, "a nudge computes nothing anew")
	b.Edits().Nudge(40, 0)
	moved, _ := b.Viewer().Local(f)
	require.NotEqual(t, c, moved)
	require.Equal(t, pixels, f.Pixels().Pix)
	require.Equal(t, level, f.Level)
	b.Viewer().ToggleLocal()
	_, ok = b.Viewer().Local(f)
	require.False(t, ok)
}

func TestNextProposal(t *testing.T) {
	b := newBench(t)
	second := measure.Circle{X: 250, Y: 250, R: headRadius}
	one := b.cfg.Detect
	b.cfg.Detect = func(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error) {
		hips, err := one(ctx, img, opt)
		if err != nil {
			return nil, err
		}
		h := hips[0]
		h.Head.Circle = second
		return append(hips, h), nil
	}
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-02-01.dcm")})
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	f := b.strip.Selected()
	first := f.Draft.Head.At
	n, shown := b.Edits().Proposals(f)
	require.Equal(t, []int{2, 0}, []int{n, shown})
	b.Edits().NextProposal()
	require.Equal(t, second, f.Draft.Head.At)
	require.Equal(t, "show proposal 2, film 1", b.history.UndoName())
	b.history.Undo()
	require.Equal(t, first, f.Draft.Head.At)
	require.Equal(t, Proposed, f.State())
	b.history.Redo()
	b.Edits().NextProposal()
	require.Equal(t, first, f.Draft.Head.At, "after the last comes the first")
	b.Edits().Nudge(1, 0)
	_, shown = b.Edits().Proposals(f)
	require.Equal(t, -1, shown, "the reader's own outlines are shown")
}

// What the search weighed and did not take can be gone through as well, on a film
// that it refused too.
func TestWeighedCandidatesAreProposed(t *testing.T) {
	b := newBench(t)
	near := measure.Circle{X: 280, Y: 290, R: headRadius}
	other := measure.Candidate{Head: near, Reason: study.Note{Text: "its edge is faint"}}
	one := b.cfg.Detect
	b.cfg.Detect = func(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error) {
		if nameOf(img) == "2005-02-01.dcm" {
			return nil, &measure.Refusal{Reason: study.Note{Text: "nothing convinces"}, Candidates: []measure.Candidate{other}}
		}
		hips, err := one(ctx, img, opt)
		if err == nil {
			hips[0].Others = []measure.Candidate{other}
		}
		return hips, err
	}
	dir := t.TempDir()
	b.strip.Add([]string{touch(t, dir, "2004-02-01.dcm"), touch(t, dir, "2005-02-01.dcm")})
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	f := b.strip.Selected()
	cup := f.Draft.Cup.At
	b.Edits().NextProposal()
	require.Equal(t, near, f.Draft.Head.At)
	require.Equal(t, cup, f.Draft.Cup.At, "a candidate without a cup keeps the cup taken")
	require.Equal(t, Edited, f.State())
	require.Error(t, b.Numbers(f).Err, "only roughly in place")
	b.Edits().RefineBoth()
	b.one()
	require.NoError(t, b.Numbers(f).Err)
	require.False(t, f.Draft.Head.Hand, "refined to the edge")
	require.Contains(t, study.Texts(b.Numbers(f).Warnings), "weighed by the search and not taken: its edge is faint")

	b.strip.Select(1)
	f = b.strip.Selected()
	require.Equal(t, Refused, f.State())
	require.Nil(t, f.Draft)
	b.Edits().NextProposal()
	require.Equal(t, near, f.Draft.Head.At)
	require.InDelta(t, near.R*54/28, f.Draft.Cup.At.R, 1e-9)
	b.history.Undo()
	require.Nil(t, f.Draft)
	require.Equal(t, Refused, f.State())
}

func TestOnlyOneProposalIsTold(t *testing.T) {
	b := opened(t)
	b.Edits().NextProposal()
	require.Equal(t, "The search has only one proposal for this film.", b.Notice())
	require.Empty(t, b.history.UndoName())
}
