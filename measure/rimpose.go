package measure

import (
	"math"
)

// RimPose is where the circle of a rim or marker ring lies in the cone beam.
type RimPose struct {
	Radiographic // degrees; the sign of Anteversion is part of the pose

	Rim Circle     // the projected centre of the circle, px, and its radius times the magnification there
	SE  [2]float64 // standard errors of inclination and anteversion, degrees

	// Cov is the covariance of Rim's X, Y and R, px².
	Cov [3][3]float64
}

// values returns inclination, anteversion and the rim.
func (p RimPose) values() [5]float64 {
	return [5]float64{p.Inclination, p.Anteversion, p.Rim.X, p.Rim.Y, p.Rim.R}
}

// Reading returns the pose as a reading, the sign of its version dropped.
func (p RimPose) Reading() RimReading {
	r := RimReading{Radiographic: p.Radiographic, SEInclination: p.SE[0], SEAnteversion: p.SE[1]}
	r.Anteversion = math.Abs(r.Anteversion)
	return r
}

// Rim returns the two circles in space that cast the ellipse e, the one with
// the larger anteversion first. One film cannot tell which is real: for a cup
// near the central ray they are anteverted and retroverted by the same angle.
// alpha is the angle of the reference line to the image rows, degrees.
//
// With Q the cone through the ellipse, the source its apex, and λ1 >= λ2 > 0 >
// λ3 its eigenvalues, the circle's normal is
//
//	n = ± sqrt((λ1-λ2)/(λ1-λ3)) v1 + sqrt((λ2-λ3)/(λ1-λ3)) v3
//
// and its centre projects to Q⁻¹ n (Kanatani & Liu, CVGIP Image Underst
// 1993;58:286-301, from memory; checked by projection). SE and Cov follow from
// e.Cov, by central differences. A ring edge-on, with a short axis of zero, is
// ErrNotEllipse.
func (b Beam) Rim(e EllipseFit, side Side, alpha float64) (larger, smaller RimPose, err error) {
	if side.Medial() == 0 {
		return larger, smaller, ErrNoSide
	}
	if err := b.check(); err != nil {
		return larger, smaller, err
	}
	if !Finite(e.X, e.Y, e.A, e.B, e.Angle, alpha) {
		return larger, smaller, ErrNotFinite
	}
	poses, err := b.poses(e.Ellipse, side, alpha)
	if err != nil {
		return larger, smaller, err
	}
	var steps [5]float64
	for i := range steps {
		steps[i] = math.Sqrt(max(0, e.Cov[i][i]))
	}
	const fraction = 1e-2 // of a standard error, small against the curvature
	var gradient [2][5][5]float64
	for i, step := range steps {
		if step == 0 {
			continue
		}
		h := fraction * step
		if i == 3 {
			h = min(h, 0.5*e.B)
		}
		for _, d := range []float64{h, -h} {
			q := [5]float64{e.X, e.Y, e.A, e.B, e.Angle * math.Pi / 180}
			q[i] += d
			moved, err := b.poses(Ellipse{q[0], q[1], q[2], q[3], q[4] * 180 / math.Pi}, side, alpha)
			if err != nil {
				return larger, smaller, err
			}
			for k := range moved {
				for j, v := range moved[k].values() {
					gradient[k][j][i] += v / (2 * d)
				}
			}
		}
	}
	for k := range poses {
		g := &gradient[k]
		for q := range poses[k].SE {
			poses[k].SE[q] = deviation(g[q], e.Cov[:])
		}
		for p := range poses[k].Cov {
			for q := range poses[k].Cov[p] {
				poses[k].Cov[p][q] = Product(g[2+p], e.Cov[:], g[2+q])
			}
		}
	}
	return poses[0], poses[1], nil
}

// poses returns the two circles that cast e, the larger anteversion first.
func (b Beam) poses(e Ellipse, side Side, alpha float64) (poses [2]RimPose, err error) {
	if !(e.B > 0 && e.B <= e.A) {
		return poses, ErrNotEllipse
	}
	l, v := eigen3(b.cone(e)) // ascending: one below zero, two above
	if !(l[0] < 0 && l[1] > 0) {
		return poses, ErrNotEllipse
	}
	p := math.Sqrt(max(0, (l[2]-l[1])/(l[2]-l[0])))
	q := math.Sqrt((l[1] - l[0]) / (l[2] - l[0]))
	f := b.SourceImage / b.Spacing
	end := e.At(0)
	tip := [3]float64{(end.X - b.Center.X) / f, (end.Y - b.Center.Y) / f, 1}
	for k, sign := range []float64{1, -1} {
		var n, c [3]float64
		for i := range n {
			n[i] = sign*p*v[i][2] + q*v[i][0]
		}
		// Q⁻¹ n in the eigenvectors.
		for i := range c {
			c[i] = sign*p/l[2]*v[i][2] + q/l[0]*v[i][0]
		}
		center := [3]float64{c[0] / c[2], c[1] / c[2], 1}
		poses[k] = b.pose(n, center, tip, side, alpha)
	}
	if poses[1].Anteversion > poses[0].Anteversion {
		poses[0], poses[1] = poses[1], poses[0]
	}
	return poses, nil
}

// cone returns the cone from the source through e, in a frame with x to image
// right, y down and z along the central ray, in units of the source's distance:
// (x, y, 1) lies on the film.
func (b Beam) cone(e Ellipse) [3][3]float64 {
	f := b.SourceImage / b.Spacing
	x, y := (e.X-b.Center.X)/f, (e.Y-b.Center.Y)/f
	s, c := sincos(e.Angle)
	i, j := f/e.A*f/e.A, f/e.B*f/e.B
	xx, xy, yy := i*c*c+j*s*s, (i-j)*s*c, i*s*s+j*c*c
	// Scaled, which leaves normals and centres alone, to sizes near one.
	k := 1 / j
	return [3][3]float64{
		{k * xx, k * xy, -k * (xx*x + xy*y)},
		{k * xy, k * yy, -k * (xy*x + yy*y)},
		{-k * (xx*x + xy*y), -k * (xy*x + yy*y), k * (xx*x*x + 2*xy*x*y + yy*y*y - 1)},
	}
}

// pose turns a normal, the ray of the centre and that of one point of the
// circle, in the frame of cone, into a pose.
func (b Beam) pose(n, c, tip [3]float64, side Side, alpha float64) RimPose {
	dot := func(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
	// In the plane through the centre at depth one: where tip's ray meets it.
	t := dot(n, c) / dot(n, tip)
	var square float64
	for i := range tip {
		square += (t*tip[i] - c[i]) * (t*tip[i] - c[i])
	}
	f := b.SourceImage / b.Spacing
	p := RimPose{Rim: Circle{b.Center.X + f*c[0], b.Center.Y + f*c[1], f * math.Sqrt(square)}}
	// The axis out of the cup points down the body: lateral, anterior, caudal.
	sin, cos := sincos(alpha)
	lateral := -side.Medial() * (n[0]*cos + n[1]*sin)
	caudal := n[1]*cos - n[0]*sin
	anterior := -n[2]
	if caudal < 0 || caudal == 0 && lateral < 0 {
		lateral, caudal, anterior = -lateral, -caudal, -anterior
	}
	p.Inclination = atan2(lateral, caudal)
	p.Anteversion = atan2(anterior, math.Hypot(lateral, caudal))
	return p
}
