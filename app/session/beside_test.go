package session

import (
	"encoding/json"
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// drawn draws the chosen outline through three points of c, 120 degrees apart.
func (b *bench) drawn(c measure.Circle) {
	b.t.Helper()
	b.drawnAt(c, 200, 320, 80)
}

// drawnAt is drawn through the points at some degrees.
func (b *bench) drawnAt(c measure.Circle, degrees ...float64) {
	b.t.Helper()
	b.Mouse().SetTool(CircleTool)
	for _, deg := range degrees {
		b.click(on(c, deg))
	}
	require.Equal(b.t, Hand, b.Mouse().Tool(), b.Notice())
}

// stated returns the worst standard deviation of the head's centre, and that of its
// radius, mm.
func (b *bench) stated() (centre, radius float64) {
	b.t.Helper()
	n := b.Numbers(b.strip.Selected())
	require.NoError(b.t, n.Err)
	c := n.Head.Cov
	return n.Reading.Scale * math.Sqrt(max(c[0][0], c[1][1])), n.Reading.Scale * math.Sqrt(c[2][2])
}

// remark returns what is said of the head as placed by hand.
func (b *bench) remark() string {
	for _, w := range b.Numbers(b.strip.Selected()).Warnings {
		if w.Code == study.WarnByHand {
			return study.WarningWords(w)
		}
	}
	return ""
}

// A head drawn on its edge is as good as its clicks; moved or resized from there it is
// as bad as the film's edge says, by key or by mouse.
func TestDrawnOutlineOwnsUpToTheFilmsEdge(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	b.Edits().SetPart(Head)
	truth, _ := b.truth(f.pixels)
	b.drawn(truth)
	clicked, radius := b.stated()
	sd := f.Draft.Head.By[0].SD
	require.InDelta(t, sd*math.Sqrt(2./3)*0.1, clicked, 0.001, "the clicks' own error")
	require.InDelta(t, sd*math.Sqrt(1./3)*0.1, radius, 0.001)
	require.NotContains(t, b.remark(), "by eye")

	b.Edits().Nudge(30, 0)
	moved, _ := b.stated()
	require.InDelta(t, 3, moved, 0.15, "3 mm off the head")
	b.Edits().Nudge(-30, 0)
	back, _ := b.stated()
	require.InDelta(t, clicked, back, 0.2*clicked)
	require.True(t, f.Draft.Head.Hand, "no edge point tells it")

	for range 2 {
		b.history.Undo()
	}
	require.Len(t, f.Draft.Head.By, 3, "drawn as it was")
	b.drag(truth.X, truth.Y, truth.X+30, truth.Y)
	require.Empty(t, f.Draft.Head.By)
	dragged, _ := b.stated()
	require.InDelta(t, moved, dragged, 0.01)
	b.history.Undo()

	x, y := on(truth, 0)
	b.drag(x, y, x+60, y)
	require.InDelta(t, truth.R+60, f.Draft.Head.At.R, 1e-6)
	centre, radius := b.stated()
	require.GreaterOrEqual(t, centre, clicked, "a pixel taken for too few mm makes nothing better known")
	require.Greater(t, radius, 60*b.Numbers(f).Reading.Scale*0.9)
	b.history.Undo()
	b.Edits().Grow(60)
	again, _ := b.stated()
	require.InDelta(t, centre, again, 1e-6)
}

// While the mouse is down the error grows with the way.
func TestErrorGrowsWhileItIsDragged(t *testing.T) {
	b := opened(t)
	b.Edits().SetPart(Head)
	truth, _ := b.truth(b.strip.Selected().pixels)
	b.drawn(truth)
	b.Mouse().Press(at(b.Session, truth.X, truth.Y))
	last := 0.0
	for i := 1; i <= 4; i++ {
		b.Mouse().Move(at(b.Session, truth.X+15*float64(i), truth.Y))
		now, _ := b.stated()
		require.Greater(t, now, last)
		last = now
	}
	b.Mouse().Release(Pointer{})
}

// Where no edge stands out the reading says that it was placed by eye, and what the
// clicks said counts on.
func TestOutlineBesideNoEdge(t *testing.T) {
	b := opened(t)
	b.cfg.Refine = func(*image.Gray16, measure.Circle, measure.Part) (measure.Outline, error) {
		return measure.Outline{}, find.ErrNoOutline
	}
	b.Edits().SetPart(Head)
	truth, _ := b.truth(b.strip.Selected().pixels)
	b.drawn(truth)
	clicked, _ := b.stated()
	require.Contains(t, b.remark(), "; no edge along this circle, placed by eye")
	b.Edits().Nudge(20, 0)
	moved, _ := b.stated()
	require.Greater(t, moved, 2.0)
	require.Contains(t, b.remark(), "no edge along this circle, placed by eye")
	b.Edits().Nudge(-19, 0)
	near, _ := b.stated()
	require.Greater(t, near, clicked, "a nudge does not make it better known")
}

// Three clicks on a short arc are not better known for a nudge, whatever edge is near.
func TestNudgeLeavesAShortArcUnknown(t *testing.T) {
	b := opened(t)
	b.Edits().SetPart(Head)
	truth, _ := b.truth(b.strip.Selected().pixels)
	b.drawnAt(truth, 260, 281, 302)
	clicked, radius := b.stated()
	b.Edits().Nudge(5, 0)
	c, r := b.stated()
	require.GreaterOrEqual(t, c, clicked)
	require.GreaterOrEqual(t, r, radius)
	require.InDelta(t, clicked, c, 0.2*clicked, "nor much worse")
	require.InDelta(t, radius, r, 0.2*radius)
}

// On a film with a head the finder's own edge is the measure: the 95 % region of centre
// and radius holds the truth from on the edge to a fifth of the radius beside it, and
// the interval of the centre does where the hand is plainly off.
func TestDrawnHeadOnAFilm(t *testing.T) {
	scene := phantom.Plain(measure.Right).Around(measure.Right, 100)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	b := newBench(t)
	b.cfg.Open = func(path string) (*dicomio.Film, error) {
		return source.Ready(&dicomio.Film{Pixels: img, Bits: scene.Bits, Photometric: "MONOCHROME2", Path: path, SHA256: path,
			Geometry: dicomio.Geometry{Imager: [2]float64{scene.Spacing, scene.Spacing}}})
	}
	b.cfg.Detect, b.cfg.Refine = find.Hips, find.Refine
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-02-01.dcm")})
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	f := b.strip.Selected()
	require.Equal(t, Proposed, f.State(), study.NoteWords(f.Reason))
	b.Edits().SetPart(Head)
	truth := f.Draft.Head.At
	b.drawn(truth)
	clicked, _ := b.stated()
	for _, off := range []float64{5, 10, 20} {
		t.Run(fmt.Sprintf("%g px off", off), func(t *testing.T) {
			b.Edits().Nudge(off, 0)
			require.NotContains(t, b.remark(), "by eye")
			moved, _ := b.stated()
			mm := b.Numbers(f).Reading.Scale
			require.Greater(t, math.Sqrt(circleOdds)*moved, off*mm)
			if off > 5 {
				require.Greater(t, 1.96*moved, off*mm)
			}
			require.GreaterOrEqual(t, moved, clicked)
			b.history.Undo()
		})
	}
}

// A ring that a hand has moved away from its wire owns up to it as well.
func TestDrawnRingOwnsUpToTheWire(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	wire := measure.Ellipse{X: 300, Y: 310, A: 240, B: 60}
	b.cfg.RefineRing = func(_ *image.Gray16, start measure.Ellipse, _ measure.Circle, _ float64) (measure.Outline, error) {
		if math.Hypot(start.X-wire.X, start.Y-wire.Y) > 40 {
			return measure.Outline{}, find.ErrNoOutline
		}
		o := outline(measure.Circle{X: wire.X, Y: wire.Y, R: wire.A})
		o.Ring, o.RingCov = wire, measure.RingScatter(0.01, wire.A)
		return o, nil
	}
	b.Mouse().SetTool(RingTool)
	b.click(60, 310)
	b.click(540, 310)
	b.click(300, 370)
	se := func() float64 { return math.Sqrt(f.Draft.Cup.Outline().RingCov[0][0]) }
	drawn := se()
	require.InDelta(t, f.Draft.Cup.By[0].SD/math.Sqrt2, drawn, 0.1, "the middle of two clicks")
	b.Edits().Nudge(30, 0)
	require.Empty(t, f.Draft.Cup.By)
	require.InDelta(t, 30, se(), 1)
	require.InDelta(t, se(), math.Sqrt(f.Draft.Cup.Outline().Cov[0][0]), 1e-9)
	b.Edits().Nudge(30, 0)
	require.Greater(t, se(), 55.0, "from the clicks, where no wire shows")
	require.Contains(t, study.WarningWords(f.Draft.Cup.byHand(Cup, 0.1)), "no wire along this ring, placed by eye")
}

// What lies near is kept with the draft.
func TestEdgeBesideIsKept(t *testing.T) {
	b := opened(t)
	b.Edits().SetPart(Head)
	truth, _ := b.truth(b.strip.Selected().pixels)
	b.drawn(truth)
	b.Edits().Nudge(30, 0)
	var again Trace
	data, err := json.Marshal(b.strip.Selected().Draft.Head)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &again))
	require.Equal(t, b.strip.Selected().Draft.Head.Outline().Cov, again.Outline().Cov)
}

// A hand that clicks as well as it says keeps the clicks' interval: the film's edge
// widens it in one drawing of twenty, on a short arc as on a full turn.
func TestEdgeBesideSeldomWidensAnHonestHand(t *testing.T) {
	const draws, sd = 2000, 1.5
	truth := measure.Circle{X: 300, Y: 300, R: 120}
	near := outline(truth)
	r := rand.New(rand.NewPCG(3, 8))
	for _, arc := range []float64{90, 240} {
		var wider, held int
		for range draws {
			var by []measure.Click
			for i := range 3 {
				x, y := on(truth, arc*float64(i)/2)
				by = append(by, measure.Click{Point: measure.Point{X: x + sd*r.NormFloat64(), Y: y + sd*r.NormFloat64()}, SD: sd})
			}
			at, err := through(by)
			require.NoError(t, err)
			plain := Trace{At: at, Hand: true, By: by}
			seen := plain
			seen.Near = &near
			was, is := plain.circlePlaced(), seen.circlePlaced()
			if is != was {
				wider++
			}
			if math.Abs(at.X-truth.X) < 1.96*math.Sqrt(is[0][0]) {
				held++
			}
		}
		require.Less(t, float64(wider)/draws, 0.07, "arc %g", arc)
		require.Greater(t, float64(held)/draws, 0.93, "arc %g", arc)
		require.Less(t, float64(held)/draws, 0.985, "arc %g", arc)
	}
}

// A head's diameter and the film's spacing bound the radius that three clicks on a
// short arc leave open; where the diameter is corrected the reading follows.
func TestKnownDiameterBoundsAShortArc(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	b.Edits().SetPart(Head)
	truth, _ := b.truth(f.pixels)
	b.drawnAt(truth, 260, 281, 302)
	bounded := b.Numbers(f).Head.Cov[2][2]
	require.Equal(t, f.Draft.Head.Outline().Cov[2][2], bounded)
	require.Less(t, math.Sqrt(bounded), 0.35/1.2*truth.R, "a head of 28 mm magnified 1.05 to 1.35 times")

	h := hip()
	h.Implant.HeadMM = 36
	require.NoError(t, b.SetHip(h))
	require.NotEqual(t, bounded, b.Numbers(f).Head.Cov[2][2])
	b.history.Undo()
	require.Equal(t, bounded, b.Numbers(f).Head.Cov[2][2])
	imager := f.Imager
	f.Imager = 0
	require.Greater(t, b.Numbers(f).Head.Cov[2][2], bounded, "no scale, no bound")
	f.Imager = imager
}
