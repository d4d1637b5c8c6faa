package result

import (
	"math"

	"linerwatch/dicomio"
)

// Outline is an ellipse in pixels: its centre, half of its long and of its short axis,
// and where the long one points, degrees from +x towards +y. With two equal axes it is a
// circle, and Angle is 0.
type Outline struct{ X, Y, A, B, Angle float64 }

// Circle returns the outline of a circle.
func Circle(x, y, r float64) *Outline { return &Outline{X: x, Y: y, A: r, B: r} }

// alike is the difference of the axes of a circle, as a part of them: that of 32-bit
// numbers.
const alike = 1e-6

// At returns the outline as it lies at a place: that of the linear image of its axes,
// whose squared half-axes are the eigenvalues of M M', M the images as columns.
func (o Outline) At(p dicomio.Place) Outline {
	sin, cos := math.Sincos(o.Angle * math.Pi / 180)
	ux, uy := p.Vector(o.A*cos, o.A*sin)
	vx, vy := p.Vector(-o.B*sin, o.B*cos)
	a, b, d := ux*ux+vx*vx, ux*uy+vx*vy, uy*uy+vy*vy
	middle, apart := (a+d)/2, math.Hypot((a-d)/2, b)
	out := Outline{A: math.Sqrt(middle + apart), B: math.Sqrt(max(middle-apart, 0))}
	out.X, out.Y = p.Point(o.X, o.Y)
	if out.A-out.B <= alike*out.A {
		out.B = out.A
		return out
	}
	out.Angle = math.Atan2(2*b, a-d) / 2 * 180 / math.Pi
	return out
}

// valid reports whether it can be drawn.
func (o Outline) valid() bool {
	for _, v := range []float64{o.X, o.Y, o.A, o.B, o.Angle} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return o.B > 0 && o.A >= o.B
}

// graphic is the outline as a graphic type and its points (PS3.3 C.10.5.1.2, C.18.6.1.2):
// a circle's centre and a point on it, or the ends of an ellipse's long and short axis.
func (o Outline) graphic() (kind string, points []float64) {
	if o.A == o.B {
		return "CIRCLE", []float64{o.X, o.Y, o.X + o.A, o.Y}
	}
	sin, cos := math.Sincos(o.Angle * math.Pi / 180)
	return "ELLIPSE", []float64{
		o.X - o.A*cos, o.Y - o.A*sin, o.X + o.A*cos, o.Y + o.A*sin,
		o.X + o.B*sin, o.Y - o.B*cos, o.X - o.B*sin, o.Y + o.B*cos,
	}
}

// outlineOf is the outline of a graphic; ok is false for another one.
func outlineOf(kind string, p []float64) (o Outline, ok bool) {
	switch {
	case kind == "CIRCLE" && len(p) == 4:
		o = *Circle(p[0], p[1], math.Hypot(p[2]-p[0], p[3]-p[1]))
	case kind == "ELLIPSE" && len(p) == 8:
		o = Outline{
			X: (p[0] + p[2]) / 2, Y: (p[1] + p[3]) / 2,
			A: math.Hypot(p[2]-p[0], p[3]-p[1]) / 2, B: math.Hypot(p[6]-p[4], p[7]-p[5]) / 2,
			Angle: math.Atan2(p[3]-p[1], p[2]-p[0]) * 180 / math.Pi,
		}
	}
	return o, o.valid()
}
