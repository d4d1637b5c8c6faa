package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// ovalSD is the standard deviation of the two second harmonics of a head's
// outline, as a share of its radius. Off the central ray a sphere is imaged as
// an ellipse of axis ratio 1 / cos t, t the angle off the ray: 92 mm off at 1 m
// the harmonic is 0.002 of the radius.
const ovalSD = 0.002

// oval corrects a head's circle for the part of the outline that was not seen:
// it fits the second harmonics of an ellipse to the residuals along with the
// circle, so that the circle is that of the whole outline, each edge by its
// weight.
func oval(f *measure.CircleFit, edges []measure.Edge) {
	const m = 5
	var a [m][m]float64
	var g [m]float64
	n := 0.0
	weight := weights(edges)
	for i, e := range edges {
		if e.Reject != "" {
			continue
		}
		w := weight[i]
		sin, cos := math.Sincos(math.Atan2(e.Y-f.Y, e.X-f.X))
		j := [m]float64{cos, sin, 1, cos*cos - sin*sin, 2 * sin * cos}
		for x := range m {
			for y := range m {
				a[x][y] += w * j[x] * j[y]
			}
			g[x] += w * j[x] * e.Residual
		}
		n++
	}
	if n < 6 {
		return
	}
	// Variance of one edge, as if there was no correlation.
	noise := f.Cov[2][2] * n
	hold := noise / (ovalSD * f.R * ovalSD * f.R)
	a[3][3] += hold
	a[4][4] += hold
	var inv [m][m]float64
	if !fit.GaussJordan(a[:], inv[:]) {
		return
	}
	var p [m]float64
	for x := range m {
		for y := range m {
			p[x] += inv[x][y] * g[y]
		}
	}
	f.X, f.Y, f.R = f.X+p[0], f.Y+p[1], f.R+p[2]
	for i := range edges {
		edges[i].Residual = f.Distance(edges[i].Point)
	}
	var sum float64
	for i, q := range f.Points {
		f.Residuals[i] = f.Distance(q)
		sum += f.Residuals[i] * f.Residuals[i]
	}
	f.RMS = math.Sqrt(sum / float64(len(f.Points)))
	for x := range 3 {
		for y := range 3 {
			f.Cov[x][y] = noise * inv[x][y]
		}
	}
}
