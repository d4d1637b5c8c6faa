package fit

import (
	"math"

	"linerwatch/measure"
)

// MostTerms is the number of Terms that Near takes.
const MostTerms = 3

// Term is a way in which an outline departs from its circle: how far outwards a
// coefficient of one takes it at each point, px, and the standard deviation that the
// coefficient is expected to have about zero.
type Term struct {
	Along []float64
	SD    float64
}

// Departed is a circle with the terms by which an outline departs from it.
type Departed struct {
	measure.Circle
	Coefficients [MostTerms]float64
	// Inverse is that of the normal matrix of X, Y, R and the coefficients, priors
	// included, for the weights that were given.
	Inverse Matrix
}

// Residual returns the signed distance of point i at p to the outline.
func (d *Departed) Residual(i int, p measure.Point, terms []Term) float64 {
	r := d.Distance(p)
	for k, t := range terms {
		r -= d.Coefficients[k] * t.Along[i]
	}
	return r
}

// Row returns the derivatives of the outline at point i at p by the parameters.
func (d *Departed) Row(i int, p measure.Point, terms []Term) (j Row) {
	dx, dy := p.X-d.X, p.Y-d.Y
	if h := math.Sqrt(dx*dx + dy*dy); h > 0 {
		j[0], j[1] = dx/h, dy/h
	}
	j[2] = 1
	for k, t := range terms {
		j[3+k] = t.Along[i]
	}
	return j
}

// normal returns what the points give to the fit, and the weighted sum of their squared
// distances to the outline.
func (d *Departed) normal(points []measure.Point, weights []float64, terms []Term) (b Block, cost float64) {
	for i, p := range points {
		if w := weights[i]; w != 0 {
			r := d.Residual(i, p, terms)
			b.Add(w, r, d.Row(i, p, terms))
			cost += w * r * r
		}
	}
	return b, cost
}

// Near takes Gauss-Newton steps from d towards the least weighted sum of squared
// distances of the points to the outline, plus noise times the sum of squares of
// the coefficients over their standard deviations: weights are inverse variances
// up to one factor, and noise is the variance of a point of weight one, times the
// number of points that err as one. It ends when no step moves the circle by more
// than 1e-6 px. ok is false where the points do not tell the circle.
func (d *Departed) Near(points []measure.Point, weights []float64, terms []Term, noise float64, steps int) (ok bool) {
	for range steps {
		b, _ := d.normal(points, weights, terms)
		for x, hold := range Priors(terms, noise) {
			b.Normal[x][x] += hold
			if x >= 3 {
				b.Score[x] -= hold * d.Coefficients[x-3]
			}
		}
		if d.Inverse, ok = b.Normal.Inverse(); !ok || b.Normal[2][2] == 0 {
			return false
		}
		step := Times(d.Inverse[:], b.Score)
		d.X, d.Y, d.R = d.X+step[0], d.Y+step[1], d.R+step[2]
		for k := range d.Coefficients {
			d.Coefficients[k] += step[3+k]
		}
		if max(math.Abs(step[0]), math.Abs(step[1]), math.Abs(step[2])) < 1e-6 {
			break
		}
	}
	return measure.Finite(d.X, d.Y, d.R) && d.R > 0
}

// Priors returns what the standard deviations of the terms add to the diagonal of the
// normal matrix, for Near's noise.
func Priors(terms []Term, noise float64) (p Row) {
	for k, t := range terms {
		p[3+k] = noise / (t.SD * t.SD)
	}
	return p
}
