package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

func TestFilmsAreRegisteredOnTheCup(t *testing.T) {
	b := opened(t)
	b.strip.Select(4)
	base := b.strip.Films()[0]
	require.Equal(t, base, b.Viewer().Other())
	// The baseline film was magnified a tenth more, and lies elsewhere.
	grow := func(o measure.Outline) measure.Outline {
		return outline(measure.Circle{X: o.X*1.1 + 40, Y: o.Y*1.1 - 25, R: o.R * 1.1})
	}
	d := *base.Draft
	d.Head, d.Cup = fitted(grow(d.Head.Fit)), fitted(grow(d.Cup.Fit))
	base.Draft = &d
	b.course.renew()
	c, ok := b.Viewer().Registered(base)
	require.True(t, ok)
	f := b.strip.Selected()
	vx, vy := f.Camera.ToView(f.Draft.Cup.At.Center())
	ox, oy := c.ToView(d.Cup.At.Center())
	require.InDelta(t, vx, ox, 1e-9)
	require.InDelta(t, vy, oy, 1e-9)
	require.InDelta(t, f.Camera.Zoom*headRadius, c.Zoom*d.Head.At.R, 1e-9, "heads are as large")
	// The head's movement on the screen is the penetration.
	p, ok := b.Penetration(f)
	require.True(t, ok)
	was := b.Viewer().OnSelected(c, d.Head.At.Center())
	require.InDelta(t, p.Superior, (was.Y-f.Draft.Head.At.Y)*b.Numbers(f).Reading.Scale, 1e-9)

	b.strip.Select(0)
	require.Equal(t, b.strip.Films()[1], b.Viewer().Other(), "the baseline is compared with the film after it")
}

func TestSideBySideGivesEachFilmItsHalf(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	c := f.Camera
	b.Viewer().SetCompare(Beside)
	require.InDelta(t, c.X-200/c.Zoom, f.Camera.X, 1e-9, "a quarter of 800 to the right")
	b.Viewer().SetCompare(Wipe)
	require.InDelta(t, c.X, f.Camera.X, 1e-9)
}
