package settle

import (
	"math"
	"math/rand/v2"
	"sync"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit/internal/seek"
)

// cloud is weighed draws from a density by adaptive multiple importance sampling:
// rounds of draws, each from where those before have most weight, all of them
// weighed against the mixture of all rounds (Cornuet JM, Marin JM, Mira A, Robert
// CP. Scand J Stat 2012;39:798-812).
type cloud struct {
	log    func(x []float64) float64
	rounds []round
	draws  []draw
	w      []float64
}

// round is Student's distribution, whose tails are those of what is sought or
// longer, around a mean, from which n draws were taken.
type round struct {
	mean []float64
	cov  *mat.SymDense
	root [][]float64 // of cov, lower
	half float64     // of its determinant's logarithm
	n    float64
}

// draw is a place, the logarithms of the density sought there and of the sum of
// the rounds' densities times their numbers of draws.
type draw struct {
	x        []float64
	log, mix float64
}

// When the rounds end: where as many of the draws count as are good, or there are
// the most.
const (
	proposalDF = 5
	roundDraws = 250
	goodDraws  = 500
	mostDraws  = 5000
	keptDraws  = 192
)

// newCloud finds the peak of a density from x, and its shape from second
// derivatives.
func newCloud(log func(x []float64) (float64, []float64), x []float64) (*cloud, error) {
	top := seek.Minimise(func(x []float64) (float64, []float64) {
		v, g := log(x)
		for i := range g {
			g[i] = -g[i]
		}
		return -v, g
	}, x, nil, 1e-3)
	var e mat.EigenSym
	if top.Second == nil || math.IsInf(top.Value, 0) || !e.Factorize(top.Second, true) {
		return nil, ErrSearch
	}
	var v mat.Dense
	e.VectorsTo(&v)
	values := e.Values(nil)
	v.Apply(func(_, j int, a float64) float64 {
		const least = 0.05 // SDs of more than 4.5 in these coordinates are no peak
		return a / math.Sqrt(max(math.Abs(values[j]), least))
	}, &v)
	cov := mat.NewSymDense(len(x), nil)
	cov.SymOuterK(1, &v)
	c := &cloud{}
	return c, c.round(top.X, cov)
}

func (c *cloud) round(mean []float64, cov *mat.SymDense) error {
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return ErrSearch
	}
	var l mat.TriDense
	chol.LTo(&l)
	r := round{mean: mean, cov: cov, half: chol.LogDet() / 2}
	for i := range mean {
		row := make([]float64, i+1)
		for j := range row {
			row[j] = l.At(i, j)
		}
		r.root = append(r.root, row)
	}
	c.rounds = append(c.rounds, r)
	return nil
}

// normal fills the cloud with n draws from the normal distribution of the first
// round, all of one weight.
func (c *cloud) normal(n int, r *rand.Rand) {
	for range n {
		c.draws = append(c.draws, draw{x: c.rounds[0].place(r)})
		c.w = append(c.w, 1/float64(n))
	}
}

// place returns a normal draw.
func (p *round) place(r *rand.Rand) []float64 {
	z := make([]float64, len(p.mean))
	for i := range z {
		z[i] = r.NormFloat64()
	}
	x := append([]float64(nil), p.mean...)
	for i, row := range p.root {
		for j, v := range row {
			x[i] += v * z[j]
		}
	}
	return x
}

// student returns a draw of Student's distribution.
func (p *round) student(r *rand.Rand) []float64 {
	x := p.place(r)
	var s float64
	for range proposalDF {
		v := r.NormFloat64()
		s += v * v / proposalDF
	}
	for i, m := range p.mean {
		x[i] = m + (x[i]-m)/math.Sqrt(s)
	}
	return x
}

// density is that of student, logarithm, without the constant that all rounds
// share.
func (p *round) density(x []float64) float64 {
	var z2 float64
	z := make([]float64, len(x))
	for i := range x {
		z[i] = x[i] - p.mean[i]
		row := p.root[i]
		for j := range i {
			z[i] -= row[j] * z[j]
		}
		z[i] /= row[i]
		z2 += z[i] * z[i]
	}
	return -p.half - float64(proposalDF+len(x))/2*math.Log1p(z2/proposalDF)
}

// fill takes rounds until enough of the draws count.
func (c *cloud) fill(r *rand.Rand) error {
	for {
		c.sample(r)
		c.w = c.weights(1)
		n := effective(c.w)
		switch {
		case math.IsNaN(n):
			return ErrSearch
		case n >= goodDraws || len(c.draws) >= mostDraws:
			return nil
		}
		if err := c.adapt(); err != nil {
			return err
		}
	}
}

// sample takes the last round.
func (c *cloud) sample(r *rand.Rand) {
	last := &c.rounds[len(c.rounds)-1]
	last.n = roundDraws
	for i := range c.draws {
		c.draws[i].mix = add(c.draws[i].mix, math.Log(last.n)+last.density(c.draws[i].x))
	}
	fresh := make([]draw, roundDraws)
	for i := range fresh {
		fresh[i] = draw{x: last.student(r), mix: math.Inf(-1)}
		for k := range c.rounds {
			p := &c.rounds[k]
			fresh[i].mix = add(fresh[i].mix, math.Log(p.n)+p.density(fresh[i].x))
		}
	}
	var wg sync.WaitGroup
	for part := range chunks {
		wg.Go(func() {
			for i := part; i < len(fresh); i += chunks {
				fresh[i].log = c.log(fresh[i].x)
			}
		})
	}
	wg.Wait()
	c.draws = append(c.draws, fresh...)
}

// add returns the logarithm of the sum of exponentials.
func add(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// weights returns the density sought over that of the mixture, to a power, of
// sum 1.
func (c *cloud) weights(power float64) []float64 {
	w := make([]float64, len(c.draws))
	most := math.Inf(-1)
	for i, d := range c.draws {
		w[i] = d.log - d.mix
		if math.IsNaN(w[i]) {
			w[i] = math.Inf(-1)
		}
		most = max(most, w[i])
	}
	var sum float64
	for i := range w {
		w[i] = math.Exp(power * (w[i] - most))
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// adapt makes the next round from the draws. Weights of which too few count are
// drawn towards each other first.
func (c *cloud) adapt() error {
	d := len(c.rounds[0].mean)
	w := c.w
	for power := 0.8; effective(w) < float64(8*d) && power > 0.01; power *= 0.8 {
		w = c.weights(power)
	}
	mean := make([]float64, d)
	for i, p := range c.draws {
		for j := range mean {
			mean[j] += w[i] * p.x[j]
		}
	}
	const kept = 0.02 // of the first round's covariance, so that none is 0
	cov := mat.NewSymDense(d, nil)
	cov.ScaleSym(kept, c.rounds[0].cov)
	for i, p := range c.draws {
		for j := range d {
			for k := j; k < d; k++ {
				cov.SetSym(j, k, cov.At(j, k)+w[i]*(p.x[j]-mean[j])*(p.x[k]-mean[k]))
			}
		}
	}
	return c.round(mean, cov)
}

// effective is how many independent draws the weights are worth (Kong A, Liu JS,
// Wong WH. J Am Stat Assoc 1994;89:278-288).
func effective(w []float64) float64 {
	var s float64
	for _, v := range w {
		s += v * v
	}
	return 1 / s
}

// keep returns n draws as likely as each other, by systematic resampling from a
// start between 0 and 1 (Kitagawa G. J Comput Graph Stat 1996;5:1-25).
func (c *cloud) keep(n int, start float64) [][]float64 {
	out := make([][]float64, 0, n)
	sum, i := c.w[0], 0
	for k := range n {
		for at := (float64(k) + start) / float64(n); sum < at && i < len(c.w)-1; {
			i++
			sum += c.w[i]
		}
		out = append(out, c.draws[i].x)
	}
	return out
}
