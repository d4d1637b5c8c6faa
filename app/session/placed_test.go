package session

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

func TestMovedOutlineOwnsUpToItsMisfit(t *testing.T) {
	tr := fitted(outline(measure.Circle{X: 50, Y: 50, R: 30}))
	moved := tr.put(measure.Circle{X: 52, Y: 50, R: 30}, 0.5).Outline()
	// Over a full circle a shift of d leaves residuals of mean square d²/2.
	require.InDelta(t, 2/math.Sqrt2, moved.RMS, 0.03)
	require.InDelta(t, 0.01+4+0.25, moved.Cov[0][0], 1e-9, "fit, move and hand")
	require.InDelta(t, 0.01+0.25, moved.Cov[1][1], 1e-9, "fit and hand")
	back := tr.put(measure.Circle{X: 52, Y: 50, R: 30}, 0.5).put(measure.Circle{X: 50, Y: 50, R: 30}, 0.5)
	require.False(t, back.Hand, "back in place it is the fit again")
	require.Equal(t, tr.Fit, back.Outline())

	// A nudge by less than a hand can tell leaves the fit's word.
	little := tr.put(measure.Circle{X: 50.1, Y: 50, R: 30}, 1.5).Outline()
	require.InDelta(t, 0.01, little.Cov[1][1], 0.004)
	require.InDelta(t, 0.02, little.Cov[0][0], 0.004)

	// A fit on a short arc knows least along it; a move that its edge points hardly
	// tell is owned up to all the same.
	short := tr
	short.Fit.Points = short.Fit.Points[:7]
	off := short.put(measure.Circle{X: 47.4, Y: 48.5, R: 33}, 0.5).Outline()
	require.Less(t, off.RMS, 0.4)
	require.Greater(t, math.Sqrt(off.Cov[0][0]), 2.6)
	require.Greater(t, math.Sqrt(off.Cov[2][2]), 3.0)
}

func TestMovedWireKeepsItsEllipse(t *testing.T) {
	o := outline(measure.Circle{X: 50, Y: 50, R: 30})
	o.Ring = measure.Ellipse{X: 50, Y: 50, A: 30, B: 10, Angle: 40}
	o.Points = []measure.Point{o.Ring.At(0), o.Ring.At(90), o.Ring.At(180), o.Ring.At(270)}
	still := fitted(o).put(measure.Circle{X: 50, Y: 50, R: 30 + 1e-12}, 1).Outline()
	require.InDelta(t, 0, still.RMS, 1e-9)
	got := fitted(o).put(measure.Circle{X: 53, Y: 50, R: 33}, 1).Outline()
	require.InDelta(t, 53, got.Ring.X, 1e-9)
	require.InDelta(t, 33, got.Ring.A, 1e-9)
	require.InDelta(t, 11, got.Ring.B, 1e-9)

	// What hand and edge disagree by is doubt about the ring, too.
	o.RingCov = measure.RingScatter(0.01, 30)
	moved := fitted(o).put(measure.Circle{X: 53, Y: 50, R: 30}, 0.5).Outline()
	require.Greater(t, moved.RingCov[0][0], 9.0)
	require.InDelta(t, moved.RingCov[0][0], moved.Cov[0][0], 1e-9)
	drawn := Trace{}.putRing(o.Ring, 0.5).Outline()
	require.InDelta(t, 0.25/2, drawn.RingCov[0][0], 0.01, "the middle of two clicks")
	require.InDelta(t, 0.25/2/900, drawn.RingCov[4][4], 1e-5)
	require.InDelta(t, 0.25*1.5, drawn.RingCov[3][3], 0.05, "a click and the middle of two")
	require.InDelta(t, drawn.RingCov[2][2], drawn.Cov[2][2], 1e-12)

	round := measure.Ellipse{X: 50, Y: 50, A: 30, B: 30 + 1e-9, Angle: 40}
	require.Equal(t, measure.RingScatter(0.25, 30), Trace{}.putRing(round, 0.5).Outline().RingCov, "never none")
}

// A click errs by what a hand misses on the screen and by what of an edge can be
// seen; the nearer the view, the less of the first.
func TestClicksAreAsGoodAsTheView(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	f.Imager = 0.15
	sd := func(zoom, scale float64) float64 {
		f.Camera.Zoom, b.viewer.scale = zoom, scale
		return b.Edits().clickSD(f)
	}
	require.InDelta(t, math.Hypot(1.5, 1), sd(1, 1), 1e-9)
	require.InDelta(t, math.Hypot(0.375, 1), sd(4, 1), 1e-9)
	require.InDelta(t, sd(2, 1), sd(4, 2), 1e-9, "a unit of the screen is two of its pixels")
	f.Imager, f.Facts.SpacingMM = 0, 0
	require.InDelta(t, math.Hypot(1.5, 1), sd(1, 1), 1e-9)
}

// A short arc of the head clicked by hand, as many readers would: the reading's own
// 95 % interval holds the truth in 93 to 97 % of draws, and is many times wider than
// that of clicks all around.
func TestReadingOfClickedOutlinesHoldsTheTruth(t *testing.T) {
	const draws = 4000
	head, cup, sd := measure.Circle{X: 300, Y: 300, R: 120}, measure.Circle{X: 304, Y: 306, R: 230}, 1.5
	truth, err := measure.Read(measure.CircleFit{Circle: head}, measure.CircleFit{Circle: cup}, 28, measure.Right, 0)
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(5, 6))
	clicked := func(c measure.Circle, toward, arc float64) measure.CircleFit {
		var by []measure.Click
		for i := range 3 {
			x, y := on(c, toward+arc*(float64(i)/2-0.5))
			by = append(by, measure.Click{Point: measure.Point{X: x + sd*r.NormFloat64(), Y: y + sd*r.NormFloat64()}, SD: sd})
		}
		at, err := through(by)
		require.NoError(t, err)
		return Trace{At: at, Hand: true, By: by}.Outline().CircleFit
	}
	width := map[float64]float64{}
	for _, arc := range []float64{60, 90, 150, 240} {
		var held [2]int
		for range draws {
			got, err := measure.Read(clicked(head, 70, arc), clicked(cup, -110, max(arc, 120)), 28, measure.Right, 0)
			require.NoError(t, err)
			sup, med := got.Offset.SE()
			for i, q := range [2][2]float64{
				{got.Offset.Superior - truth.Offset.Superior, sup},
				{got.Offset.Medial - truth.Offset.Medial, med},
			} {
				if math.Abs(q[0]) < 1.96*q[1] {
					held[i]++
				}
			}
			width[arc] += sup / draws
		}
		for i, n := range held {
			share := float64(n) / draws
			require.Greater(t, share, 0.93, "arc %g, %d", arc, i)
			require.Less(t, share, 0.97, "arc %g, %d", arc, i)
		}
	}
	require.Greater(t, width[60], 4*width[240])
}

// Drafts kept before clicks had an error are read as before.
func TestOldDraftsAreRead(t *testing.T) {
	var tr Trace
	require.NoError(t, json.Unmarshal([]byte(`{"At":{"X":0,"Y":0,"R":100},"Hand":true,"By":[{"X":100,"Y":0},{"X":-50,"Y":86.6},{"X":-50,"Y":-86.6}]}`), &tr))
	require.Len(t, tr.By, 3)
	require.Equal(t, 86.6, tr.By[1].Y)
	cov := tr.Outline().Cov
	require.InDelta(t, math.Hypot(1.5, 1)*math.Sqrt(2./3), math.Sqrt(cov[0][0]), 0.02)
}

// What hand placing does goes into the reading that is kept, and comes back with it.
func TestAcceptedReadingCarriesTheHandsError(t *testing.T) {
	b, m := inStudy(t)
	f := b.strip.Selected()
	b.Edits().SetPart(Head)
	b.Mouse().SetTool(CircleTool)
	truth := f.Draft.Head.At
	for _, deg := range []float64{40, 70, 100} {
		b.click(on(truth, deg))
	}
	cov := f.Draft.Head.Outline().Cov
	sup, _ := b.Numbers(f).Reading.Offset.SE()
	require.Greater(t, math.Sqrt(cov[1][1]), 5.0, "an arc of 60 degrees")
	require.NoError(t, b.Accept())
	kept := readingsIn(t, m)[0]
	require.Equal(t, cov, kept.Head.Cov)
	got, _ := kept.Reading.Offset.SE()
	require.InDelta(t, sup, got, 1e-9)
	require.Contains(t, strings.Join(study.Texts(kept.Warnings), "\n"), "head placed by hand without edge points: its centre is known to ±")
	again := draftOf(kept.Measurement)
	require.Equal(t, cov, again.Head.Outline().Cov)
	moved := again.Head.put(measure.Circle{X: truth.X + 1, Y: truth.Y, R: truth.R}, 1).Outline()
	require.Greater(t, moved.Cov[1][1], cov[1][1], "a nudge does not make it better known")
}
