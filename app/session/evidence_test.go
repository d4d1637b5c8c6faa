package session

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// bulged moves the head's edge points between two angles outwards by px and fits
// them as the program would.
func bulged(t *testing.T, b *bench, from, to, px float64) *Film {
	t.Helper()
	f := b.strip.Selected()
	o := f.Draft.Head.Fit
	o.Edges = append([]measure.Edge(nil), o.Edges...)
	for i, e := range o.Edges {
		if e.Angle >= from && e.Angle <= to {
			sin, cos := math.Sincos(e.Angle * math.Pi / 180)
			o.Edges[i].X, o.Edges[i].Y = e.X+px*cos, e.Y+px*sin
		}
	}
	fit, err := refit(nil, measure.Outline{CircleFit: measure.CircleFit{Circle: o.Circle}}, o.Edges)
	require.NoError(t, err)
	f.Draft = &Draft{Head: fitted(fit), Cup: f.Draft.Cup, CupKind: f.Draft.CupKind}
	b.course.renew()
	return f
}

func TestSectorLeftOutAndTakenIn(t *testing.T) {
	b := opened(t)
	b.strip.Select(4)
	truth := b.strip.Selected().Draft.Head.At
	f := bulged(t, b, 0, 60, 6)
	off, rms := f.Draft.Head.At, f.Draft.Head.Fit.RMS
	before, _ := b.Penetration(f)
	require.Greater(t, math.Hypot(off.X-truth.X, off.Y-truth.Y), 0.5)

	// From +x towards +y, 0 to 60 degrees are 90 to 150 from the top, clockwise.
	require.NoError(t, b.Edits().ToggleSector(152, 88))
	require.InDelta(t, truth.X, f.Draft.Head.At.X, 1e-6)
	require.InDelta(t, truth.Y, f.Draft.Head.At.Y, 1e-6)
	require.Less(t, f.Draft.Head.Fit.RMS, rms/100)
	require.Less(t, f.Draft.Head.Fit.Arc, 360.0)
	after, _ := b.Penetration(f)
	require.Greater(t, math.Abs(after.Superior-before.Superior), 0.01, "penetration follows")
	require.Equal(t, Edited, f.State())
	require.Equal(t, "leave out head edge, film 5", b.history.UndoName())
	require.Regexp(t, `^Left \d+ edge points of the head out and fitted it again\.$`, b.Notice())
	for _, r := range b.Edits().Residuals() {
		require.Equal(t, r.Angle < 88 || r.Angle > 152, r.Kept)
		if !r.Kept {
			require.Equal(t, byReader, r.Reason)
			require.InDelta(t, 6, r.Px, 1e-6)
		}
	}

	require.NoError(t, b.Edits().ToggleSector(88, 152))
	require.InDelta(t, off.X, f.Draft.Head.At.X, 1e-9)
	require.Equal(t, "take in head edge, film 5", b.history.UndoName())
	b.history.Undo()
	require.InDelta(t, truth.X, f.Draft.Head.At.X, 1e-6)
}

func TestPointUnderThePointerIsToggledAndDescribed(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	e := f.Draft.Head.Fit.Edges[9] // 90 degrees from +x: the bottom
	p := at(b.Session, e.X+1, e.Y)
	i := b.Mouse().EdgeAt(p.X, p.Y)
	require.Equal(t, 9, i)
	require.Equal(t, "head edge at 180° · kept, residual +0.00 px", b.Edits().EdgeWords(i))
	require.NoError(t, b.Edits().ToggleEdge(i))
	require.Equal(t, "Left one edge point of the head out and fitted it again.", b.Notice())
	require.Equal(t, "head edge at 180° · left out: left out by the reader", b.Edits().EdgeWords(i))
	require.Equal(t, -1, b.Mouse().EdgeAt(p.X+40, p.Y+40))
}

func TestTooFewPointsLeaveTheFitAsItIs(t *testing.T) {
	b := opened(t)
	before := *b.strip.Selected().Draft
	require.Contains(t, study.Told(b.Edits().ToggleSector(0, 360)), "the points stay as they are")
	require.Equal(t, before, *b.strip.Selected().Draft)
	require.Empty(t, b.history.UndoName())
	b.strip.Selected().Draft.Head.Fit.Ring = measure.Ellipse{A: 3, B: 1}
	require.ErrorIs(t, b.Edits().ToggleEdge(3), ErrFixedFit)
}

// A refit of the kept points takes far less than a frame.
func BenchmarkToggleSector(b *testing.B) {
	o := outline(measure.Circle{X: 300, Y: 300, R: 140})
	o.Edges = nil
	for a := range 720 {
		sin, cos := math.Sincos(float64(a) / 2 * math.Pi / 180)
		o.Edges = append(o.Edges, measure.Edge{Point: measure.Point{X: 300 + 140*cos, Y: 300 + 140*sin}, Angle: float64(a) / 2})
	}
	for b.Loop() {
		if _, err := refit(nil, o, append([]measure.Edge(nil), o.Edges...)); err != nil {
			b.Fatal(err)
		}
	}
}
