package wearfit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit/internal/seek"
)

// crossedPoint is the restricted deviance at given variances, with the mean and
// the variance of repeats that are best there.
type crossedPoint struct{ dev, mean, sigma2 float64 }

// deviance returns -2 times the restricted log-likelihood, at standard deviations
// of targets, readers and target by reader over that of repeats, with the
// variance of repeats profiled out (Bates D, Mächler M, Bolker B, Walker S. J Stat
// Softw 2015;67(1), equation 42). Cell means carry what cells have to say: their
// covariance is diagonal but for the targets and readers, and of these the more
// numerous are taken off in closed form, the others by a matrix of their number. What
// rows of the same cells say is in sums of their means, made once.
func (r *cells) deviance(th [3]float64) crossedPoint {
	many, fewer := th[0]*th[0], th[1]*th[1]
	if r.swapped {
		many, fewer = fewer, many
	}
	k := r.few()
	q := mat.NewSymDense(k, nil)
	one, val := mat.NewVecDense(k, nil), mat.NewVecDense(k, nil)
	var log, s11, s1y, syy float64
	w := make([]float64, k)
	for _, p := range r.patterns {
		var sum, first, second float64 // of the weights, and of what differs by them
		for i, c := range p.cells {
			d := th[2]*th[2] + 1/c.n
			w[i] = 1 / d
			log += p.rows * math.Log(d*c.n)
			sum += w[i]
			first += w[i] * p.differ[i]
			second += w[i] * p.products[i*len(p.cells)+i]
		}
		// (D + g 11')⁻¹ = D⁻¹ - b D⁻¹11'D⁻¹, of whose 1 a part of share is left
		b, share := many/(1+many*sum), 1/(1+many*sum)
		log += p.rows * math.Log1p(many*sum)
		s11 += p.rows * sum * share
		s1y += share * (sum*p.base + first)
		syy += share*(sum*p.square+2*p.across(w)) + second - b*p.quadratic(w)
		for i, c := range p.cells {
			one.SetVec(c.with, one.AtVec(c.with)+p.rows*w[i]*share)
			val.SetVec(c.with, val.AtVec(c.with)+w[i]*(share*p.base+p.differ[i]-b*first))
			q.SetSym(c.with, c.with, q.At(c.with, c.with)+p.rows*w[i])
			for j, d := range p.cells {
				if d.with >= c.with {
					q.SetSym(c.with, d.with, q.At(c.with, d.with)-p.rows*b*w[i]*w[j])
				}
			}
		}
	}
	// I + g Q, whose inverse takes the fewer off.
	q.ScaleSym(fewer, q)
	for i := range k {
		q.SetSym(i, i, q.At(i, i)+1)
	}
	var ch mat.Cholesky
	if !ch.Factorize(q) {
		return crossedPoint{dev: math.Inf(1)}
	}
	var solved mat.VecDense
	if ch.SolveVecTo(&solved, one) != nil {
		return crossedPoint{dev: math.Inf(1)}
	}
	log += ch.LogDet()
	s11 -= fewer * mat.Dot(&solved, one)
	s1y -= fewer * mat.Dot(&solved, val)
	if ch.SolveVecTo(&solved, val) != nil {
		return crossedPoint{dev: math.Inf(1)}
	}
	syy -= fewer * mat.Dot(&solved, val)
	df := float64(r.n - 1)
	p := crossedPoint{mean: s1y / s11}
	p.sigma2 = (r.within + syy - s1y*p.mean) / df
	p.dev = log + math.Log(s11) + df*(1+math.Log(2*math.Pi*p.sigma2))
	return p
}

// descend finds the standard deviations of least deviance by Newton steps from
// several starts. The deviance does not change with their signs, so that a
// variance of 0 is an ordinary smooth minimum.
func (r *cells) descend(separable bool) (best [3]float64, ok bool) {
	free := 2
	if separable {
		free = 3
	}
	full := func(x []float64) (th [3]float64) {
		copy(th[:], x)
		return th
	}
	dev := func(x []float64) float64 { return r.deviance(full(x)).dev }
	least := math.Inf(1)
	for _, start := range [][3]float64{{3, 1, 1}, {1, 0.2, 0.2}, {10, 3, 0.3}} {
		x := start[:free]
		if !settle(dev, x) {
			continue
		}
		for i := range x {
			was, d := x[i], dev(x)
			if x[i] = 0; math.Abs(was) > 1e-3 || dev(x) > d+1e-9 {
				x[i] = math.Abs(was)
			}
		}
		if d := dev(x); d < least-1e-9 {
			least, best, ok = d, full(x), true
		}
	}
	return best, ok
}

// settle takes Newton steps, with derivatives by differences, until they promise
// a decrease of less than 1e-11.
func settle(dev func([]float64) float64, x []float64) bool {
	grad := func(x []float64) []float64 {
		g, y := make([]float64, len(x)), append([]float64(nil), x...)
		for i := range x {
			h := 1e-5 * max(math.Abs(x[i]), 0.1)
			y[i] = x[i] + h
			up := dev(y)
			y[i] = x[i] - h
			g[i] = (up - dev(y)) / (2 * h)
			y[i] = x[i]
		}
		return g
	}
	for range 200 {
		d := dev(x)
		step, promise := seek.Newton(seek.Hessian(x, func(x []float64) (float64, []float64) { return 0, grad(x) }), grad(x))
		if promise < 1e-11 {
			return finite(d)
		}
		y, scale := make([]float64, len(x)), 1.0
		for ; scale > 1e-6; scale /= 3 {
			for i := range y {
				y[i] = x[i] - scale*step[i]
			}
			if dev(y) < d {
				break
			}
		}
		if scale <= 1e-6 {
			return promise < 1e-6
		}
		copy(x, y)
	}
	return false
}
