package mixed

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/wearfit"
	"linerwatch/wearfit/internal/seek"
)

// wearfit.Estimate returns the j-th fixed effect with Satterthwaite's degrees of
// freedom.
func (m Model) Estimate(j int) wearfit.Estimate {
	c := make([]float64, len(m.Coef))
	c[j] = 1
	return m.Combine(c)
}

// Combine returns Σ c[j] Coef[j] with Satterthwaite's degrees of freedom
// (Satterthwaite FE. Biometrics 1946;2:110-114; Kuznetsova A, Brockhoff PB,
// Christensen RHB. J Stat Softw 2017;82(13)): 2 v²/(g'Ag) with v the variance
// of the combination, g its gradient over the variance parameters and A their
// asymptotic covariance.
func (m Model) Combine(c []float64) wearfit.Estimate {
	e := wearfit.Estimate{Value: floats.Dot(m.Coef, c), SE: math.Sqrt(max(form(m.Cov, c), 0)), DF: math.Inf(1)}
	v := e.SE * e.SE
	x := m.stats.forward(c)
	g := m.gradient(x, solve(m.chol, x))
	if s := m.spread(g); s > 0 {
		e.DF = 2 * v * v / s
	}
	return e
}

// gradient is that of the variance x'ax, ax = (X'V⁻¹X)⁻¹x, over what the search
// sought.
func (m Model) gradient(x, ax []float64) []float64 {
	u2 := m.unit * m.unit
	if m.spot != nil {
		b := m.whole()
		chain := b.chain(b.search(m.nat))
		g := make([]float64, len(chain))
		for i, d := range chain {
			for j, v := range d {
				if v != 0 {
					g[i] -= u2 * v * form(m.spot.dXX[j], ax)
				}
			}
		}
		return g
	}
	free := m.stats.free
	g := make([]float64, len(free)+1)
	for i, j := range free {
		g[i] = -u2 * form(m.at.dXX[j], ax)
	}
	g[len(free)] = 2 * m.Sigma * floats.Dot(x, ax)
	return g
}

// form returns c'Vc.
func form(v mat.Symmetric, c []float64) float64 {
	x := mat.NewVecDense(len(c), c)
	return mat.Inner(x, v, x)
}

// spread returns g'Ag, A twice the inverse of the second derivatives of the
// deviance over what the search sought; directions in
// which the deviance does not rise are left out.
func (m Model) spread(g []float64) float64 {
	m.dense.bent.Do(func() { m.dense.curve = newCurve(m.curvature()) })
	var s float64
	for k, l := range m.dense.curve.values {
		if l <= 1e-8 {
			continue
		}
		var c float64
		for i, x := range g {
			c += m.dense.curve.vectors.At(i, k) * x
		}
		s += 2 * c * c / l
	}
	return s
}

// curve is the second derivatives of the deviance as eigenvalues and vectors; none where
// they have none.
type curve struct {
	values  []float64
	vectors mat.Dense
}

func newCurve(h *mat.SymDense) (c curve) {
	var e mat.EigenSym
	if e.Factorize(h, true) {
		c.values = e.Values(nil)
		e.VectorsTo(&c.vectors)
	}
	return c
}

// curvature returns the second derivatives of the deviance over what the search
// sought; with a plain model over the factor, and the residual standard deviation
// last.
func (m Model) curvature() *mat.SymDense {
	if m.spot != nil {
		b := m.whole()
		return seek.Hessian(b.search(m.nat), b.deviance(m.Options.ML))
	}
	s, at := m.stats, m.at
	n := len(s.free)
	theta := seek.Hessian(s.active(at.th), func(y []float64) (float64, []float64) {
		p := s.eval(s.factor(y), m.Options.ML)
		var g [4]float64
		for j := range g {
			g[j] = p.dLog[j] + p.dRSS[j]/at.sigma2
		}
		return 0, s.active(g)
	})
	h := mat.NewSymDense(n+1, nil)
	for i, j := range s.free {
		for k := i; k < n; k++ {
			h.SetSym(i, k, theta.At(i, k))
		}
		h.SetSym(i, n, -2*at.dRSS[j]/(at.sigma2*m.Sigma))
	}
	nu := at.rss / at.sigma2
	h.SetSym(n, n, 4*nu/at.sigma2)
	return h
}

// ErrNotNested says that two models cannot be compared by their likelihoods.
var ErrNotNested = errors.New("wearfit: the models are not one within the other, or differ in data or criterion")

// Ratio is a likelihood-ratio test.
type Ratio struct {
	Statistic float64
	DF        int
	P         float64 // of chi-square with DF
	// Mixture is the probability where the smaller model lies at the boundary
	// of the larger: the mean of those with DF-1 and DF (Self SG, Liang KY. J
	// Am Stat Assoc 1987;82:605-610). It applies to dropping one variance.
	Mixture float64
}

// LikelihoodRatio compares a model with one that lies within it. With REML
// both must have the same fixed effects.
func LikelihoodRatio(larger, smaller Model) (Ratio, error) {
	r := Ratio{Statistic: 2 * (larger.LogLik - smaller.LogLik), DF: larger.Params - smaller.Params}
	same := larger.N == smaller.N && larger.Options.ML == smaller.Options.ML
	if !same || r.DF < 1 || (!larger.Options.ML && len(larger.Coef) != len(smaller.Coef)) || r.Statistic < -1e-6 {
		return Ratio{}, ErrNotNested
	}
	r.Statistic = max(r.Statistic, 0)
	r.P = distuv.ChiSquared{K: float64(r.DF)}.Survival(r.Statistic)
	lower := 0.0 // chi-square with no degrees of freedom is zero
	if r.DF > 1 {
		lower = distuv.ChiSquared{K: float64(r.DF - 1)}.Survival(r.Statistic)
	} else if r.Statistic == 0 {
		lower = 1
	}
	r.Mixture = (lower + r.P) / 2
	return r, nil
}
