package fit

import (
	"math"
	"slices"

	"linerwatch/measure"
)

// Errors of points of which no circle is told. Test for them with errors.Is.
var (
	ErrTooFewPoints = measure.Fault("shape.few-points", nil)
	ErrUntold       = measure.Fault("shape.untold", nil)
)

// Circle fits a circle to points that err alike, from a start near by: it minimises the
// sum of squared orthogonal distances. The errors are ErrTooFewPoints, ErrUntold and
// *measure.ArcError.
func Circle(points []measure.Point, start measure.Circle) (f measure.CircleFit, err error) {
	n := len(points)
	if n < 3 {
		return f, ErrTooFewPoints
	}
	weights := slices.Repeat([]float64{1}, n)
	d := Departed{Circle: start}
	for range 300 { // until only rounding moves it
		was := d.Circle
		if !d.Near(points, weights, nil, 0, 1) {
			return f, ErrUntold
		}
		if d.Center().Distance(was.Center())+math.Abs(d.R-was.R) <= 1e-12*(1+d.R) {
			break
		}
	}
	f = measure.CircleFit{Circle: d.Circle, Points: slices.Clone(points), Residuals: make([]float64, n)}
	if f.Arc, err = d.Arc(points); err != nil {
		return f, err
	}
	for i, p := range points {
		f.Residuals[i] = d.Distance(p)
	}
	all, cost := d.normal(points, weights, nil)
	f.RMS = math.Sqrt(cost / float64(n))
	var inv Matrix
	if !measure.Finite(cost) || !GaussJordan(all.Normal[:3], inv[:3]) {
		return f, ErrUntold
	}
	for i := range f.Cov {
		for j := range f.Cov {
			f.Cov[i][j] = inv[i][j] * cost / float64(max(1, n-3))
		}
	}
	return f, nil
}
