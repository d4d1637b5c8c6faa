package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
	"linerwatch/measure/fit"
)

// fitted is a circle fitted to edges along with the terms of its shape.
type fitted struct {
	fit.Departed
	terms   []fit.Term
	points  []measure.Point // of all edges
	weights []float64       // inverse variances, px^-2, up to spread; zero where rejected
	kept    int
	spread  float64 // variance of a residual over what its weight says
	length  float64 // edges that err as one
}

// Limits in robust standard deviations: beyond biweight an edge counts nothing
// while the circle is sought (Beaton and Tukey's choice), beyond stray, which one of
// 2000 normal residuals passes, it is rejected.
const (
	biweight = 4.7
	stray    = 3.5
)

// weighFloor is the standard deviation that neighbouring edges have in common,
// px, below which less noise counts no more; tried by .ci/vary.
const weighFloor = 0.2

// weights returns the inverse of the variance that noise and what neighbours have
// in common gives the place of each kept edge, so that the parts of an outline that
// show count, and those that noise or metal hides hardly; and the number of those kept.
func weights(edges []measure.Edge) (w []float64, kept int) {
	w = make([]float64, len(edges))
	for i, e := range edges {
		if e.Reject == "" {
			w[i] = 1 / (e.SD*e.SD + weighFloor*weighFloor)
			kept++
		}
	}
	return w, kept
}

// fitEdges fits a circle and the terms to the edges not yet rejected, each by the
// inverse of the variance that noise gives its place: from c, with the biweight,
// then plainly to those that do not stray. It marks what it leaves out.
func fitEdges(edges []measure.Edge, c measure.Circle, terms ...fit.Term) (f fitted, err error) {
	n := len(edges)
	f = fitted{Departed: fit.Departed{Circle: c}, terms: terms, points: make([]measure.Point, n)}
	f.weights, f.kept = weights(edges)
	for i, e := range edges {
		f.points[i] = e.Point
	}
	f.length = max(1, blockDegrees*float64(n)/360)
	w := make([]float64, n)
	const rounds = 8
	for round := range rounds {
		scale := f.scatter()
		f.spread, f.kept = scale*scale, 0
		limit := biweight * scale
		if round == rounds-1 {
			limit = stray * scale
		}
		for i, v := range f.weights {
			w[i] = 0
			if v == 0 {
				continue
			}
			u := math.Sqrt(v) * f.Residual(i, f.points[i], terms) / limit
			if u = 1 - u*u; u > 0 {
				w[i] = v * u * u
				f.kept++
			} else if round == rounds-1 {
				edges[i].Reject = rejectOther
			}
		}
		if f.kept < 3 {
			return f, fit.ErrTooFewPoints
		}
		if round < rounds-1 && !f.Near(f.points, w, terms, f.spread*f.length, 1) {
			return f, fit.ErrUntold
		}
	}
	return f, f.plain(edges)
}

// plain fits f to the edges that are kept.
func (f *fitted) plain(edges []measure.Edge) error {
	f.weights, f.kept = weights(edges)
	if f.kept < 3 {
		return fit.ErrTooFewPoints
	}
	if !f.Near(f.points, f.weights, f.terms, f.spread*f.length, 4) {
		return fit.ErrUntold
	}
	var sum float64
	for i, w := range f.weights {
		edges[i].Residual = f.Residual(i, f.points[i], f.terms)
		sum += w * edges[i].Residual * edges[i].Residual
	}
	f.spread = sum / max(1, float64(f.kept-3))
	return nil
}

// scatter returns a robust standard deviation of the residuals over what the
// weights say, more than zero.
func (f *fitted) scatter() float64 {
	d := make([]float64, 0, len(f.weights))
	for i, w := range f.weights {
		if w > 0 {
			d = append(d, math.Sqrt(w)*math.Abs(f.Residual(i, f.points[i], f.terms)))
		}
	}
	return max(1e-3, 1.4826*film.Median(d))
}

// circle returns the fit of the circle to the edges, which get their distances
// from it.
func (f *fitted) circle(edges []measure.Edge) (c measure.CircleFit, err error) {
	c.Circle = f.Circle
	cov, ok := f.sandwich(edges)
	if !ok {
		return c, fit.ErrUntold
	}
	c.Cov = cov
	var sum, total float64
	for i, e := range edges {
		d := f.Distance(e.Point)
		if e.Reject == "" {
			c.Points, c.Residuals = append(c.Points, e.Point), append(c.Residuals, d)
			sum += f.weights[i] * edges[i].Residual * edges[i].Residual // from the outline
			total += f.weights[i]
		}
		edges[i].Residual = d
	}
	c.RMS = math.Sqrt(sum / total)
	c.Arc, err = c.Circle.Arc(c.Points)
	return c, err
}
