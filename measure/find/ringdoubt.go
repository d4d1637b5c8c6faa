package find

import (
	"math"

	"linerwatch/measure"
)

// ringOutline reports an ellipse as the circle about its centre over its long
// axis, which is fitted bulge px too long. Residuals are distances to the ellipse.
func ringOutline(f measure.EllipseFit, edges []measure.Edge, bulge float64) measure.Outline {
	f.A -= bulge
	o := measure.Outline{Edges: edges, Ring: f.Ellipse}
	o.Ring.Angle = math.Mod(math.Mod(o.Ring.Angle, 180)+180, 180)
	o.Circle, o.RingCov = measure.Circle{X: f.X, Y: f.Y, R: f.A}, f.Cov
	var sum float64
	for _, e := range edges {
		if e.Reject == "" {
			o.Points = append(o.Points, e.Point)
			o.Residuals = append(o.Residuals, e.Residual)
			sum += e.Residual * e.Residual
		}
	}
	o.Arc = 360 * float64(len(o.Points)) / float64(len(edges))
	o.RMS = math.Sqrt(sum / float64(max(1, len(o.Points))))
	doubtRing(&o, bulgeSD*bulge)
	return o
}

// What a ring's ellipse leaves across its long axis, as a share of that, nearly the same on
// all films, since the head and the cement beside its lines pull at them; tried by .ci/vary.
const (
	ringAcrossSD = 0.0008
	ringSame     = 0.9
)

// doubtRing adds the model's part to the covariance of a ring whose ends are known to
// end px, and sets Shared.
func doubtRing(o *measure.Outline, end float64) {
	e := o.Ring
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	v := ringAcrossSD * e.A * ringAcrossSD * e.A
	measure.AddSquares(o.RingCov[:], v, [5]float64{-sin, cos})
	measure.AddSquares(o.Shared[:], ringSame*v, [3]float64{-sin, cos})
	o.RingCov[3][3] += v
	o.RingCov[2][2] += end * end
	for i := range o.Cov {
		copy(o.Cov[i][:], o.RingCov[i][:3])
	}
}

// How far the ends of a ring seen edge-on are fitted outside of the wire's centre line,
// since rays run along it there: by some share of the wire's width, less where the two
// lines that meet there lie more than that apart. Tried by .ci/vary on films with wires of
// 0.6 to 1.2 mm; there 0.05 mm are left.
const (
	bulgeShare = 0.38
	bulgeReach = 1.4 // widths apart
	bulgeSD    = 0.25
	filmBlur   = 0.15 // mm, about
)

// bulge returns by how much the long half-axis of a match is too long, px of the film.
func (m *ringMap) bulge(k ringMatch) float64 {
	blur := k.theta[5] * m.k / m.mm
	cell := m.k / m.mm
	width := 4 * math.Sqrt(max(0, blur*blur-mapBlur*mapBlur-cell*cell/12-filmBlur*filmBlur)) // of a round wire's shadow
	if width == 0 {
		return 0
	}
	return bulgeShare * width * math.Exp(-math.Abs(k.theta[3])*cell/(bulgeReach*width)) * m.mm
}
