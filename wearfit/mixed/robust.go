package mixed

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
	"linerwatch/wearfit/internal/seek"
)

// ErrWeights says that a robust fit did not come to rest.
var ErrWeights = errors.New("wearfit: the robust mixed model does not settle")

// Robust is a mixed model in which each patient's films follow Student's t distribution
// together, so that a patient who stands apart pulls less.
type Robust struct {
	Model
	DF       float64
	Weights  []float64 // of each hip, its patient's, in order of appearance; about 1 for most
	HipNames []string

	ends *sandwich // of the intervals
}

// FitRobust fits the model by maximum likelihood of the multivariate t distribution with
// df degrees of freedom (Pinheiro JC, Liu C, Wu YN. J Comput Graph Stat 2001;10:249-276);
// 4 bear much and cost little (Lange KL, Little RJA, Taylor JMG. J Am Stat Assoc
// 1989;84:881-896). It is the model by ML in which a patient of n films at a squared
// distance D from the fixed effects weighs (df + n)/(df + D), found by turns (EM).
// Variances are the scale of the t distribution: the normal part of most hips.
func FitRobust(d Data, o Options, df float64) (Robust, error) {
	o.ML = true
	m, err := Fit(d, o)
	if err != nil {
		return Robust{}, err
	}
	r := Robust{Model: m, DF: df}
	b := *m.whole()
	b.w = append([]float64(nil), b.w...)
	r.dense = &lazy{}
	r.dense.set(&b)
	whole := append([]float64(nil), b.w...)
	var top seek.Minimum
	x := b.search(m.nat)
	const turns = 500
	last := math.Inf(-1)
	for range turns {
		like := r.weigh(&b, whole, x)
		if like-last < 1e-12*math.Abs(like) && like >= last {
			return r.finish(&b, whole, x, like)
		}
		last = like
		top = seek.Minimise(b.deviance(true), x, top.Second, leastStep)
		if !top.Converged {
			return Robust{}, ErrWeights
		}
		x = top.X
	}
	return Robust{}, ErrWeights
}

// weigh sets the rows of b to those of whole times the roots of their patients' weights,
// at the fixed effects that the rows so far give, and returns the log-likelihood.
func (r *Robust) weigh(b *blocks, whole []float64, x []float64) float64 {
	nat := b.variances(x)
	s := b.eval(nat, true)
	r.spot, r.nat, r.beta, r.chol = s, nat, s.beta, &s.chol
	weighted := b.w
	b.w = append([]float64(nil), whole...)
	k := b.p + 1
	var like float64
	for p := range len(b.first) - 1 {
		f := b.open(p, nat, s.beta)
		var square float64
		for i := range f.n {
			w := whole[(f.lo+i)*k : (f.lo+i)*k+k]
			square += f.r[i] * (w[b.p] - floats.Dot(w[:b.p], s.beta))
		}
		n := float64(f.n)
		v := make([]float64, f.n*f.n)
		b.cover(v, p, nat)
		logDet, _ := cholesky(v, f.n)
		a, _ := math.Lgamma((r.DF + n) / 2)
		c, _ := math.Lgamma(r.DF / 2)
		like += a - c - n/2*math.Log(math.Pi*r.DF) - logDet/2 - (r.DF+n)/2*math.Log1p(square/r.DF)
		root := math.Sqrt((r.DF + n) / (r.DF + square))
		for i := f.lo * k; i < (f.lo+f.n)*k; i++ {
			weighted[i] = root * whole[i]
		}
	}
	b.w = weighted
	return like - float64(b.n)*math.Log(b.unit)
}

// finish sets the quantities of the model from the last turn.
func (r Robust) finish(b *blocks, whole, x []float64, like float64) (Robust, error) {
	weighted := b.w
	b.w = whole
	r.HipNames = b.sums.names
	r.Weights = make([]float64, len(b.order))
	var scores []score
	k := b.p + 1
	for p := range len(b.first) - 1 {
		f := b.open(p, r.nat, r.beta)
		at := f.lo * k
		w := 1.0
		for j := range k { // of any entry that is not 0
			if v := whole[at+j]; v != 0 {
				w = weighted[at+j] / v
			}
		}
		for i, h := range b.order {
			if h >= b.first[p] && h < b.first[p+1] {
				r.Weights[i] = w * w
			}
		}
		scores = append(scores, b.score(f, whole, w*w, r.DF))
	}
	var err error
	if r.ends, err = newSandwich(scores); err != nil {
		return Robust{}, err
	}
	r.chol = &r.ends.chol
	m, err := r.Model.fill(-2*like, len(x))
	r.Model = m
	r.LogLik = like
	r.Singular = b.singular(x)
	return r, err
}

// score returns that of the t distribution of a patient's films, whose rows are those of
// whole and who weighs weight.
func (b *blocks) score(f films, whole []float64, weight, df float64) score {
	k, n := b.p+1, float64(f.n)
	s := score{u: make([]float64, b.p), h: mat.NewSymDense(b.p, nil)}
	for i := range f.n {
		row := whole[(f.lo+i)*k : (f.lo+i)*k+b.p]
		floats.AddScaled(s.u, weight*f.r[i], row)
		for a := range b.p {
			for c := a; c < b.p; c++ {
				s.h.SetSym(a, c, s.h.At(a, c)+(df+n)/(df+n+2)*row[a]*f.x[i*b.p+c])
			}
		}
	}
	return s
}

// Combine returns Σ c[j] Coef[j]; its standard error and degrees of freedom are those of a
// sandwich of the patients' scores. Cov is that of the expected information of the t
// distribution. Where one patient alone tells a part of the combination there are none: the
// error is infinite.
func (r Robust) Combine(c []float64) wearfit.Estimate {
	e := wearfit.Estimate{Value: floats.Dot(r.Coef, c)}
	v, df := r.ends.variance(r.stats.forward(c))
	if e.SE, e.DF = r.unit*math.Sqrt(v), df; df == 0 {
		e.SE = math.Inf(1)
	}
	return e
}
