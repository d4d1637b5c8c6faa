package mixed

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/wearfit/internal/seek"
)

// cloud is a Student's t distribution of the variances, in the coordinates of logs,
// that is much like their posterior.
type cloud struct {
	at    []float64
	lower mat.TriDense // of its covariance
	nu    float64
}

// cloud finds the mode of the posterior, from nat on, and puts a cloud about it; then
// another of the mean and the covariance of what was drawn from the first, and a
// third, since the posterior is skew. nil where there is no mode.
func (b *blocks) cloud(nat []float64, seed uint64) *cloud {
	c := b.modal(nat)
	for round := range uint64(2) {
		if c == nil {
			return nil
		}
		points, logs := c.drawn(b, seed+1+round, draws/2, nil)
		w := weights(logs)
		if w == nil {
			return nil
		}
		n := len(c.at)
		mean, x := make([]float64, n), mat.NewDense(len(points), n, nil)
		for i, p := range points {
			floats.AddScaled(mean, w[i], p)
			x.SetRow(i, p)
		}
		floats.Scale(float64(len(w)), w) // as counts, so that the covariance is over all
		var cov mat.SymDense
		stat.CovarianceMatrix(&cov, x, w)
		c = newCloud(mean, &cov)
	}
	return c
}

// modal is the cloud about the mode.
func (b *blocks) modal(nat []float64) *cloud {
	x := b.toLogs(nat)
	f := func(x []float64) (float64, []float64) {
		s := b.eval(b.fromLogs(x), false)
		g := b.priorGradient(x)
		for i, d := range b.logChain(x) {
			g[i] = -g[i] + floats.Dot(d, s.grad)/2
		}
		return s.dev/2 - b.prior(x), g
	}
	top := seek.Minimise(f, x, nil, leastStep)
	if !top.Converged {
		return nil
	}
	var chol mat.Cholesky
	var cov mat.SymDense
	if !chol.Factorize(top.Second) || chol.InverseTo(&cov) != nil {
		return nil
	}
	return newCloud(top.X, &cov)
}

// newCloud returns nil where the covariance is none.
func newCloud(at []float64, cov *mat.SymDense) *cloud {
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return nil
	}
	c := &cloud{at: at, nu: 4}
	chol.LTo(&c.lower)
	return c
}

// drawn returns n points and, but for a constant, the logarithms of their weights;
// use, where given, is called for each that has one.
func (c *cloud) drawn(b *blocks, seed uint64, n int, use func(i int, s *spot)) (points [][]float64, logs []float64) {
	points, logs = make([][]float64, n), make([]float64, n)
	each(n, func(i int) {
		x, log := c.draw(rand.New(rand.NewPCG(seed, uint64(i))))
		s := b.eval(b.fromLogs(x), false)
		points[i], logs[i] = x, -s.dev/2+b.prior(x)-log
		if math.IsInf(s.dev, 1) {
			logs[i] = math.Inf(-1)
		} else if use != nil {
			use(i, s)
		}
	})
	return points, logs
}

// draw returns a point and the logarithm of its density, but for a constant.
func (c *cloud) draw(r *rand.Rand) (x []float64, log float64) {
	n := len(c.at)
	z := make([]float64, n)
	for i := range z {
		z[i] = r.NormFloat64()
	}
	chi := distuv.ChiSquared{K: c.nu, Src: r}.Rand()
	scale := math.Sqrt(c.nu / chi)
	x = append([]float64(nil), c.at...)
	var square float64
	for i := range x {
		for j := range i + 1 {
			x[i] += scale * c.lower.At(i, j) * z[j]
		}
		square += scale * scale * z[i] * z[i]
	}
	return x, -(c.nu + float64(n)) / 2 * math.Log1p(square/c.nu)
}
