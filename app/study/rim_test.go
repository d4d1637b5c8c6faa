package study

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// TestRimLineTellsInclination: on a film in the standard display a right cup opens
// to the lower left: its rim falls towards the patient's midline, at image right.
func TestRimLineTellsInclination(t *testing.T) {
	at := func(deg, n float64) measure.Point {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return measure.Point{X: 500 + n*cos, Y: 500 + n*sin}
	}
	for _, c := range []struct {
		name  string
		side  measure.Side
		slope float64 // of the line, degrees from +x towards +y
		alpha float64
		want  float64
	}{
		{"right, level pelvis", measure.Right, 45, 0, 45},
		{"right, either end first", measure.Right, 225, 0, 45},
		{"left", measure.Left, -40, 0, 40},
		{"right, pelvis tilted", measure.Right, 45, 4, 41},
		{"left, pelvis tilted", measure.Left, -40, 4, 44},
	} {
		t.Run(c.name, func(t *testing.T) {
			rim, err := DrawRim(at(c.slope, 200), at(c.slope+180, 200))
			require.NoError(t, err)
			m := Measurement{Side: c.side, Rim: rim, Reading: measure.Reading{Scale: 0.1}}
			if c.alpha != 0 {
				m.Line = Line{From: Drawn, Alpha: c.alpha, SE: 0.5}
			}
			o, ok := m.Orientation()
			require.True(t, ok)
			require.InDelta(t, c.want, o.Inclination, 1e-9)
			require.False(t, o.Version)
			require.Equal(t, c.alpha != 0, o.Line)
			// Two ends of 1 mm each, 40 mm apart: sqrt(2)/40 rad is 2.03 degrees.
			require.InDelta(t, math.Hypot(math.Sqrt2/40*180/math.Pi, m.Line.SE), o.SEInclination, 1e-9)
		})
	}
}

func TestWireRingTellsVersion(t *testing.T) {
	m := Measurement{Side: measure.Right, CupKind: measure.Wire}
	_, ok := m.Orientation()
	require.False(t, ok)
	m.Cup.Ring = measure.Ellipse{X: 1, Y: 2, A: 100, B: 100 * math.Sin(15*math.Pi/180), Angle: 45}
	o, ok := m.Orientation()
	require.True(t, ok)
	require.True(t, o.Version)
	require.InDelta(t, 45, o.Inclination, 1e-9)
	require.InDelta(t, 15, o.Anteversion, 1e-9)

	// Its standard errors are those of the fit: 0.5 px of the short half-axis of
	// 100 sin 15 px turn version by 0.5 / (100 cos 15) rad.
	m.Cup.RingCov[3][3], m.Cup.RingCov[4][4] = 0.25, 0.002*0.002
	o, _ = m.Orientation()
	require.InDelta(t, 0.005/math.Cos(15*math.Pi/180)*180/math.Pi, o.SEAnteversion, 1e-9)
	require.InDelta(t, 0.002*180/math.Pi, o.SEInclination, 1e-9)
}

func TestDrawRimRefuses(t *testing.T) {
	_, err := DrawRim(measure.Point{X: 1, Y: 1}, measure.Point{X: 4, Y: 5})
	require.Equal(t, "the rim line is 5 px long; draw it from one end of the cup's rim to the other", Told(err))
	_, err = DrawRim(measure.Point{X: math.NaN()}, measure.Point{})
	require.Error(t, err)
}

// A rim found on the film tells both angles until a reader draws a line in its
// place, and nothing of a cup that was outlined elsewhere since.
func TestRimFoundOnTheFilm(t *testing.T) {
	e := measure.Ellipse{X: 500, Y: 400, A: 200, B: 200 * math.Sin(12*math.Pi/180), Angle: 42}
	h := measure.Hip{CupKind: measure.Shell}
	h.Rim.Ellipse, h.Rim.Seen = e, 0.6
	h.Rim.Cov[3][3], h.Rim.Cov[4][4] = 4, 0.01*0.01
	m := Measurement{Side: measure.Right, CupKind: measure.Shell, Rim: ProposeRim(h), Reading: measure.Reading{Scale: 0.13}}
	m.Cup.Circle = measure.Circle{X: 501, Y: 401, R: 201}
	require.True(t, m.Rim.Drawn())
	require.True(t, m.Rim.Proposed())
	o, ok := m.Orientation()
	require.True(t, ok)
	require.True(t, o.Found && o.Version)
	require.InDelta(t, 42, o.Inclination, 1e-9)
	require.InDelta(t, 12, o.Anteversion, 1e-9)
	require.InDelta(t, 0.573, o.SEInclination, 1e-3)
	require.InDelta(t, 0.586, o.SEAnteversion, 1e-3) // 2 / (200 cos 12) rad

	moved := m
	moved.Cup.Circle.X += 60
	_, ok = moved.Orientation()
	require.False(t, ok)
	require.Contains(t, Told(moved.NoRim()), "not that of the cup's outline any more")

	lateral := m
	lateral.Film.Facts.View = Lateral
	_, ok = lateral.Orientation()
	require.False(t, ok)

	drawn, err := DrawRim(m.Rim.A, m.Rim.B)
	require.NoError(t, err)
	m.Rim = drawn
	o, ok = m.Orientation()
	require.True(t, ok)
	require.False(t, o.Found || o.Version)
	require.InDelta(t, 42, o.Inclination, 1e-9)

	h.Rim, h.NoRim = measure.ShellRim{}, Note{Code: "rim.steep"}
	m.Rim = ProposeRim(h)
	require.False(t, m.Rim.Drawn())
	require.Equal(t, "the shell's rim is not seen: it is seen too steeply", Told(m.NoRim()))
}
