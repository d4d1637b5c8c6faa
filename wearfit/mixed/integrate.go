package mixed

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/wearfit"
)

// ErrDraws says that the variances could not be integrated over.
var ErrDraws = errors.New("wearfit: the films tell too little of the variances to integrate over them")

// Drawn is a hip's own line with the variances integrated out.
type Drawn struct {
	Hip             string
	Films           int
	Intercept, Rate Posterior
}

// Posterior is a value, its standard deviation and its interval at the level asked for.
type Posterior struct {
	Mean, SD float64
	wearfit.Interval
}

// draws is how many values of the variances are drawn: with them an end of an
// interval moves by a hundredth of its width from seed to seed.
const draws = 1000

// leastDraws is what they must be worth, as independent ones.
const leastDraws = 100

// Integrate returns every hip's line, in order of appearance, as Shrink does for one,
// but with intervals that hold the uncertainty of the variances too, which with few
// hips is most of it. The fixed effects have a flat prior, and so have the standard
// deviations and the correlations (Gelman A. Bayesian Anal 2006;1:515-534, for few
// groups). Variances are drawn about the mode from Student's t with 4 degrees of
// freedom and weighed by the likelihood (Geweke J. Econometrica 1989;57:1317-1339);
// given them a line is normal, so that only few draws are needed. of returns the
// combinations of the fixed effects that are a hip's intercept and rate. The same seed
// gives the same intervals.
func (m Model) Integrate(of func(hip string) (intercept, rate []float64), level float64, seed uint64) ([]Drawn, error) {
	b := m.whole()
	c := b.cloud(m.nat, seed)
	if c == nil {
		return nil, ErrDraws
	}
	n := len(b.sums.names)
	lines := make([]moments, 2*n*draws)
	targets := m.targets(of)
	_, logs := c.drawn(b, seed, draws, func(i int, s *spot) { m.lines(b, s, targets, lines[2*n*i:2*n*(i+1)]) })
	w := weights(logs)
	if w == nil || 1/floats.Dot(w, w) < leastDraws {
		return nil, ErrDraws
	}
	out := make([]Drawn, n)
	each(n, func(h int) {
		out[h] = Drawn{b.sums.names[h], targets[h].films, mixture(lines[2*h:], w, 2*n, level), mixture(lines[2*h+1:], w, 2*n, level)}
	})
	return out, nil
}

// target is a hip's line as combinations of the coefficients of X r⁻¹.
type target struct {
	films int
	c     [2][]float64 // intercept and rate
	fixed [2]float64   // what they are at the start of the coefficients
}

func (m Model) targets(of func(hip string) (intercept, rate []float64)) []target {
	b := m.whole()
	out := make([]target, len(b.sums.names))
	for i, name := range b.sums.names {
		h := b.order[i]
		out[i].films = b.hipAt[h+1] - b.hipAt[h]
		intercept, rate := of(name)
		for k, c := range [2][]float64{intercept, rate} {
			out[i].c[k] = b.forward(c)
			out[i].fixed[k] = floats.Dot(out[i].c[k], b.start)
		}
	}
	return out
}

// moments are the mean and the standard deviation of a line's intercept or rate,
// given the variances.
type moments struct{ mean, sd float64 }

// lines fills in intercept and rate of each hip, by order of appearance.
func (m Model) lines(b *blocks, s *spot, targets []target, out []moments) {
	name := make([]int, len(b.order))
	for i, h := range b.order {
		name[h] = i
	}
	intercept, slope := m.columns()
	x := make([]float64, b.p)
	for p := range len(b.first) - 1 {
		f := b.open(p, s.nat, s.beta)
		for h := b.first[p]; h < b.first[p+1]; h++ {
			i := name[h]
			r := b.reach(f, h)
			for k, col := range [2][2]float64{intercept, slope} {
				a, v := pull(s.nat, col)
				mean, left := r.told(a, v)
				copy(x, targets[i].c[k])
				mean += floats.Dot(x, s.beta)
				for j, e := range a {
					floats.AddScaled(x, -e, r.mx[j])
				}
				left += floats.Dot(x, solve(&s.chol, x))
				out[2*i+k] = moments{targets[i].fixed[k] + m.unit*mean, m.unit * math.Sqrt(left)}
			}
		}
	}
}

// weights returns weights that sum to 1; nil where there are none.
func weights(logs []float64) []float64 {
	most := floats.Max(logs)
	if math.IsInf(most, 0) || math.IsNaN(most) {
		return nil
	}
	w := make([]float64, len(logs))
	for i, l := range logs {
		w[i] = math.Exp(l - most)
	}
	floats.Scale(1/floats.Sum(w), w)
	return w
}

// mixture returns mean, standard deviation and equal-tailed interval of the normal
// distributions at every step-th place of list, with weights w.
func mixture(list []moments, w []float64, step int, level float64) Posterior {
	var p Posterior
	var square float64
	for i, v := range w {
		n := list[i*step]
		p.Mean += v * n.mean
		square += v * (n.mean*n.mean + n.sd*n.sd)
	}
	p.SD = math.Sqrt(max(square-p.Mean*p.Mean, 0))
	below := func(x float64) float64 {
		var s float64
		for i, v := range w {
			n := list[i*step]
			s += v * distuv.UnitNormal.CDF((x-n.mean)/n.sd)
		}
		return s
	}
	end := func(q float64) float64 {
		lo, hi := p.Mean-p.SD, p.Mean+p.SD
		for d := p.SD; below(lo) > q; d *= 2 {
			lo -= d
		}
		for d := p.SD; below(hi) < q; d *= 2 {
			hi += d
		}
		for range 20 {
			if mid := (lo + hi) / 2; below(mid) < q {
				lo = mid
			} else {
				hi = mid
			}
		}
		return (lo + hi) / 2
	}
	p.Interval = wearfit.Interval{Lo: end((1 - level) / 2), Hi: end((1 + level) / 2)}
	return p
}
