package settle

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// Estimate returns the j-th fixed effect, those of bedding-in first, with
// Satterthwaite's degrees of freedom. Its error is infinite where bedding-in may
// last as long as the films, so that it cannot be told from wear.
func (c *Cohort) Estimate(j int) wearfit.Estimate {
	x := make([]float64, c.model.fixed())
	x[j] = 1
	return c.Combine(x)
}

// Combine returns Σ x[j] times the fixed effects, bedding-in's first, with
// Satterthwaite's degrees of freedom: 2 v²/(g'Ag) with v the variance, g its
// gradient over the variance parameters and A their covariance (Satterthwaite FE.
// Biometrics 1946;2:110-114).
func (c *Cohort) Combine(x []float64) wearfit.Estimate {
	e := wearfit.Estimate{DF: math.Inf(1)}
	for j, v := range append(append([]float64(nil), c.Creep...), c.Rate...) {
		e.Value += x[j] * v
	}
	own := mat.NewVecDense(len(x), x)
	variance := mat.Inner(own, c.Cov, own)
	e.SE = math.Sqrt(max(variance, 0))
	if !c.High {
		e.SE = math.Inf(1)
		return e
	}
	c.once.Do(c.freedom)
	g := make([]float64, len(c.turn))
	for i, d := range c.turn {
		g[i] = mat.Inner(own, d, own)
	}
	if s := c.asymptotic(g); s > 0 {
		e.DF = 2 * variance * variance / s
	}
	return e
}

// freedom differentiates the covariance of the fixed effects over what varies.
func (c *Cohort) freedom() {
	s, k := c.split, c.model.fixed()
	full := c.model.backward()
	for _, j := range s.psi {
		const h = 1e-3
		var at [2]*mat.SymDense
		for i, sign := range []float64{-1, 1} {
			x := append([]float64(nil), c.x...)
			x[j] += sign * h
			s.settle(x, &c.bent)
			var chol mat.Cholesky
			var inv mat.SymDense
			if !chol.Factorize(s.curve(x, s.b)) || chol.InverseTo(&inv) != nil {
				inv.ScaleSym(0, c.bent.bb)
			}
			at[i] = form(full, inv.SliceSym(0, k).(*mat.SymDense))
		}
		turn := mat.NewSymDense(k, nil)
		at[0].ScaleSym(-1, at[0])
		turn.AddSym(at[1], at[0])
		turn.ScaleSym(1/(2*h), turn)
		c.turn = append(c.turn, turn)
	}
}

// asymptotic returns g'Ag, A the inverse of the second derivatives of minus the
// restricted likelihood over what varies; directions in which it does not rise
// are left out.
func (c *Cohort) asymptotic(g []float64) float64 {
	var e mat.EigenSym
	if len(g) == 0 || !e.Factorize(c.bent.profile(), true) {
		return 0
	}
	var v mat.Dense
	e.VectorsTo(&v)
	var s float64
	for k, l := range e.Values(nil) {
		if l <= 1e-8 {
			continue
		}
		var along float64
		for i, x := range g {
			along += v.At(i, k) * x
		}
		s += along * along / l
	}
	return s
}

// TauInterval returns the profile-likelihood interval of the middle time constant,
// years (Venzon DJ, Moolgavkar SH. Appl Stat 1988;37:87-94). An end that the films
// do not tell is 0 or +Inf.
func (c *Cohort) TauInterval(level float64) wearfit.Interval {
	lo, ok := c.end(c.model.lo, level)
	if !ok {
		lo = math.Inf(-1)
	}
	hi, ok := c.end(c.model.hi, level)
	if !ok {
		hi = math.Inf(1)
	}
	return wearfit.Interval{Lo: math.Exp(lo) * c.model.years, Hi: math.Exp(hi) * c.model.years}
}

// end seeks where the likelihood has fallen by what the level leaves out, between
// its best and the end of the range, by the rule of false position on the root of
// the fall, which is close to a line (after Dowell M, Jarratt P. BIT
// 1971;11:168-174).
func (c *Cohort) end(far, level float64) (float64, bool) {
	fall := func(at float64) float64 {
		return math.Sqrt(2*max(c.drop(at), 0)) - math.Sqrt(chi(level))
	}
	near := c.best[c.model.fixed()+mu]
	fn, ff := -math.Sqrt(chi(level)), fall(far)
	if ff <= 0 {
		return far, false
	}
	at := far
	for range 30 {
		at = near + (far-near)*fn/(fn-ff)
		f := fall(at)
		switch {
		case math.Abs(f) < 1e-3:
			return at, true
		case f < 0:
			near, fn = at, f
			ff /= 2
		default:
			far, ff = at, f
			fn /= 2
		}
	}
	return at, true
}
