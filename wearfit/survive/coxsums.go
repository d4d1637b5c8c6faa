package survive

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// coxSums is the log partial likelihood at coefficients, its slope and minus its
// curvature.
type coxSums struct {
	beta   []float64
	lik    float64
	score  []float64
	info   *mat.SymDense
	factor mat.Cholesky // of info, after newton
}

// newton returns the step to the maximum of the parabola there, false where it has
// none.
func (s *coxSums) newton() ([]float64, bool) {
	if !s.factor.Factorize(s.info) || s.factor.Cond() > 1e13 {
		return nil, false
	}
	var step mat.VecDense
	if s.factor.SolveVecTo(&step, mat.NewVecDense(len(s.score), s.score)) != nil {
		return nil, false
	}
	return step.RawVector().Data, true
}

// toll is a moment with d revisions. With weights exp(x beta), l running from 0 to d-1
// and the part l/d of the revised counted as gone already (Efron), s is the sum of the
// weights at risk and m the weighted mean of x.
type toll struct {
	lik      float64       // Σ x beta of the revised - Σ log s
	score    []float64     // Σ x of the revised - Σ m
	info     *mat.SymDense // Σ of the weighted covariances of x
	mean     []float64     // Σ m / d
	rate     float64       // Σ 1/s: the hazard, by weight
	rateMean []float64     // Σ m/s
	gone     float64       // Σ (l/d)/s, which the revised are spared
	goneMean []float64     // Σ (l/d) m/s
}

func newToll(p int) *toll {
	v := func() []float64 { return make([]float64, p) }
	return &toll{score: v(), info: mat.NewSymDense(p, nil), mean: v(), rateMean: v(), goneMean: v()}
}

// weighed is a sum of weights, of weighted x and of their weighted squares.
type weighed struct {
	s float64
	x []float64
	q *mat.SymDense
}

func newWeighed(p int) *weighed { return &weighed{x: make([]float64, p), q: mat.NewSymDense(p, nil)} }

func (w *weighed) add(x []float64, weight float64) {
	w.s += weight
	floats.AddScaled(w.x, weight, x)
	w.q.SymRankOne(w.q, weight, mat.NewVecDense(len(x), x))
}

func (w *weighed) clear() {
	w.s = 0
	clear(w.x)
	w.q.Zero()
}

// weights returns exp(x beta) of each liner, over the greatest of them, and its log.
func (f *coxFit) weights(beta []float64) (w []float64, most float64) {
	w, most = make([]float64, len(f.x)), math.Inf(-1)
	for i, x := range f.x {
		w[i] = floats.Dot(x, beta)
		most = max(most, w[i])
	}
	for i := range w {
		w[i] = math.Exp(w[i] - most)
	}
	return w, most
}

// sweep visits the moments with revisions, the last first; what it shows is good
// until the next.
func (f *coxFit) sweep(beta, weight []float64, most float64, visit func(k int, t *toll)) {
	risk, gone, t := newWeighed(f.p), newWeighed(f.p), newToll(f.p)
	for k := len(f.moments) - 1; k >= 0; k-- {
		m := f.moments[k]
		gone.clear()
		clear(t.score)
		t.lik = 0
		for i := m.first; i < m.next; i++ {
			risk.add(f.x[i], weight[i])
			if f.liners[i].Event == Revised {
				gone.add(f.x[i], weight[i])
				floats.Add(t.score, f.x[i])
				t.lik += floats.Dot(f.x[i], beta) - most
			}
		}
		if d := m.ends[Revised]; d > 0 {
			t.share(risk, gone, d)
			visit(k, t)
		}
	}
}

// share takes the sums over l.
func (t *toll) share(risk, gone *weighed, d int) {
	p := len(t.score)
	t.rate, t.gone = 0, 0
	clear(t.mean)
	clear(t.rateMean)
	clear(t.goneMean)
	t.info.Zero()
	m := make([]float64, p)
	for l := range d {
		part := float64(l) / float64(d)
		s := risk.s - part*gone.s
		for j := range m {
			m[j] = (risk.x[j] - part*gone.x[j]) / s
		}
		for i := range p {
			for j := i; j < p; j++ {
				t.info.SetSym(i, j, t.info.At(i, j)+(risk.q.At(i, j)-part*gone.q.At(i, j))/s-m[i]*m[j])
			}
		}
		t.lik -= math.Log(s)
		t.rate += 1 / s
		t.gone += part / s
		floats.Sub(t.score, m)
		floats.AddScaled(t.mean, 1/float64(d), m)
		floats.AddScaled(t.rateMean, 1/s, m)
		floats.AddScaled(t.goneMean, part/s, m)
	}
}

// sums adds up all moments.
func (f *coxFit) sums(beta []float64) coxSums {
	out := coxSums{beta: beta, score: make([]float64, f.p), info: mat.NewSymDense(f.p, nil)}
	w, most := f.weights(beta)
	f.sweep(beta, w, most, func(_ int, t *toll) {
		out.lik += t.lik
		floats.Add(out.score, t.score)
		out.info.AddSym(out.info, t.info)
	})
	return out
}

// residuals returns what each liner adds to the score: its values less the mean at
// risk when it is revised, less the same at each revision that it might have had, by
// its hazard (Therneau TM, Grambsch PM. Modeling Survival Data. Springer 2000,
// section 4.6, with Efron's ties).
func (f *coxFit) residuals(beta []float64) [][]float64 {
	w, most := f.weights(beta)
	tolls := make([]*toll, len(f.moments))
	f.sweep(beta, w, most, func(k int, t *toll) {
		c := newToll(f.p)
		c.rate, c.gone = t.rate, t.gone
		copy(c.mean, t.mean)
		copy(c.rateMean, t.rateMean)
		copy(c.goneMean, t.goneMean)
		tolls[k] = c
	})
	rate, mean := 0.0, make([]float64, f.p)
	out := make([][]float64, len(f.x))
	for k, m := range f.moments {
		t := tolls[k]
		if t != nil {
			rate += t.rate
			floats.Add(mean, t.rateMean)
		}
		for i := m.first; i < m.next; i++ {
			out[i] = make([]float64, f.p)
			for j, x := range f.x[i] {
				out[i][j] = -w[i] * (x*rate - mean[j])
				if f.liners[i].Event == Revised {
					out[i][j] += x - t.mean[j] + w[i]*(x*t.gone-t.goneMean[j])
				}
			}
		}
	}
	return out
}

// meat is the covariance of the score between patients; it fails where the liners of
// each patient balance, which tells nothing.
func (f *coxFit) meat(at coxSums) (*mat.SymDense, error) {
	sums := make([]mat.VecDense, f.people)
	for i, r := range f.residuals(at.beta) {
		s := &sums[f.patient[i]]
		if s.IsEmpty() {
			s.ReuseAsVec(f.p)
		}
		s.AddVec(s, mat.NewVecDense(f.p, r))
	}
	out := mat.NewSymDense(f.p, nil)
	for i := range sums {
		out.SymRankOne(out, 1, &sums[i])
	}
	for j := range f.p {
		if out.At(j, j) <= 1e-13*at.info.At(j, j) {
			return nil, ErrFewPatients
		}
	}
	return out, nil
}

// failed counts the patients with a revised liner.
func (f *coxFit) failed() int {
	seen := map[int]bool{}
	for i, l := range f.liners {
		switch {
		case l.Event != Revised:
		case f.patient == nil:
			seen[i] = true
		default:
			seen[f.patient[i]] = true
		}
	}
	return len(seen)
}

// robust is the covariance of the coefficients between patients.
func (f *coxFit) robust(naive *mat.SymDense) (*mat.SymDense, error) {
	meat, err := f.meat(f.best)
	if err != nil {
		return nil, err
	}
	var half, full mat.Dense
	half.Mul(naive, meat)
	full.Mul(&half, naive)
	out := mat.NewSymDense(f.p, nil)
	for i := range f.p {
		for j := i; j < f.p; j++ {
			out.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	return out, nil
}
