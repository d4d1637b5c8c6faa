package mixed

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/wearfit"
)

// SmallCohort is the number of independent patients (or hips, where no patients are
// named) below which the variances are so uncertain that KenwardRoger and the
// bootstrap are worth their cost. With as many the standard errors of both differ by
// less than one in a hundred.
const SmallCohort = 100

// ErrML says that Kenward and Roger's method is one of restricted likelihood.
var ErrML = errors.New("wearfit: Kenward and Roger's errors need a fit by REML")

// ErrUntold says that the films do not tell the variances apart.
var ErrUntold = errors.New("wearfit: the films do not tell the variances apart")

// Kenward is what Kenward and Roger's method needs of a model: the covariance of the
// fixed effects adjusted for the variances' being estimated, and how uncertain those
// are (Kenward MG, Roger JH. Biometrics 1997;53:983-997; for variances that enter
// linearly, as all here do).
type Kenward struct {
	m    Model
	phi  *mat.SymDense   // (X'V⁻¹X)⁻¹, of X r⁻¹ and over unit²
	adj  *mat.SymDense   // adjusted
	dphi []*mat.SymDense // phi P phi by variance
	w    *mat.SymDense   // the covariance of the variances
}

// NewKenward computes the adjustment. Its cost grows with the cube of the readings of
// a patient.
func NewKenward(m Model) (*Kenward, error) {
	if m.Options.ML {
		return nil, ErrML
	}
	b := m.whole()
	i := b.information(m.nat)
	k := &Kenward{m: m, phi: mat.NewSymDense(b.p, nil)}
	if err := m.chol.InverseTo(k.phi); err != nil {
		return nil, ErrUntold
	}
	if err := k.spread(i); err != nil {
		return nil, err
	}
	k.adjust(i)
	return k, nil
}

// spread sets the covariance of the variances, from the expected information of
// restricted likelihood.
func (k *Kenward) spread(i information) error {
	n := len(i.p)
	info := mat.NewSymDense(n, nil)
	for _, p := range i.p {
		var a, b mat.Dense
		a.Mul(k.phi, p)
		b.Mul(&a, k.phi)
		k.dphi = append(k.dphi, symmetric(&b))
	}
	for a := range n {
		for b := a; b < n; b++ {
			v := i.tr.At(a, b) - 2*trace(k.phi, i.q[a][b]) + trace(k.dphi[a], i.p[b])
			info.SetSym(a, b, v/2)
		}
	}
	var chol mat.Cholesky
	k.w = mat.NewSymDense(n, nil)
	if !chol.Factorize(info) || chol.InverseTo(k.w) != nil {
		return ErrUntold
	}
	return nil
}

// adjust sets the adjusted covariance.
func (k *Kenward) adjust(i information) {
	p := k.phi.SymmetricDim()
	u := mat.NewDense(p, p, nil)
	for a := range i.p {
		for b := range i.p {
			var d, e mat.Dense
			d.Mul(i.p[a], k.phi)
			e.Mul(&d, i.p[b])
			d.Sub(i.q[a][b], &e)
			d.Scale(k.w.At(a, b), &d)
			u.Add(u, &d)
		}
	}
	var v, l mat.Dense
	v.Mul(k.phi, u)
	l.Mul(&v, k.phi)
	k.adj = symmetric(&l)
	k.adj.ScaleSym(2, k.adj)
	k.adj.AddSym(k.adj, k.phi)
}

// Combine returns Σ c[j] Coef[j] with the adjusted standard error and degrees of
// freedom.
func (k *Kenward) Combine(c []float64) wearfit.Estimate {
	x := k.m.stats.forward(c)
	e := wearfit.Estimate{Value: floats.Dot(k.m.Coef, c), SE: k.m.unit * math.Sqrt(max(form(k.adj, x), 0)), DF: math.Inf(1)}
	v := form(k.phi, x)
	var s float64
	for a, d := range k.dphi {
		for b, f := range k.dphi {
			s += k.w.At(a, b) * form(d, x) * form(f, x)
		}
	}
	if s > 0 {
		e.DF = 2 * v * v / s
	}
	return e
}

// Estimate returns the j-th fixed effect.
func (k *Kenward) Estimate(j int) wearfit.Estimate {
	c := make([]float64, len(k.m.Coef))
	c[j] = 1
	return k.Combine(c)
}

// FTest is a test of several combinations of the fixed effects at once.
type FTest struct {
	F        float64 // scaled: it is compared with the distribution of DF1 and DF2
	Scale    float64 // by which the quadratic form over DF1 was multiplied
	DF1, DF2 float64
	P        float64
}

// Test tests that all combinations are 0.
func (k *Kenward) Test(combinations [][]float64) (FTest, error) {
	q, p := len(combinations), k.phi.SymmetricDim()
	if q == 0 {
		return FTest{}, wearfit.ErrRank
	}
	l := mat.NewDense(q, p, nil)
	value := mat.NewVecDense(q, nil)
	for i, c := range combinations {
		l.SetRow(i, k.m.stats.forward(c))
		value.SetVec(i, floats.Dot(k.m.Coef, c)/k.m.unit)
	}
	plain, err := inverse(l, k.phi)
	if err != nil {
		return FTest{}, err
	}
	adjusted, err := inverse(l, k.adj)
	if err != nil {
		return FTest{}, err
	}
	var a, theta mat.Dense
	a.Mul(l.T(), plain)
	theta.Mul(&a, l)
	a1, a2 := k.moments(&theta)
	f := scaled(float64(q), a1, a2)
	f.F = f.Scale * mat.Inner(value, adjusted, value) / f.DF1
	if !(f.DF2 > 0) || !finite(f.F) {
		return FTest{}, ErrUntold
	}
	f.P = distuv.F{D1: f.DF1, D2: f.DF2}.Survival(f.F)
	return f, nil
}

// moments returns A1 and A2 of Kenward and Roger.
func (k *Kenward) moments(theta *mat.Dense) (a1, a2 float64) {
	n := len(k.dphi)
	t := make([]*mat.Dense, n)
	for a, d := range k.dphi {
		t[a] = &mat.Dense{}
		t[a].Mul(theta, d)
	}
	for a := range n {
		for b := range n {
			w := k.w.At(a, b)
			a1 += w * mat.Trace(t[a]) * mat.Trace(t[b])
			a2 += w * trace(t[a], t[b])
		}
	}
	return a1, a2
}

// scaled returns the scale and the degrees of freedom by which the first two moments
// of the statistic are those of an F distribution, and exactly so in the cases in
// which it has one. Where no scale exists it is 1.
func scaled(q, a1, a2 float64) FTest {
	if !(a2 > 0) {
		return FTest{Scale: 1, DF1: q, DF2: 1e9}
	}
	b := (a1 + 6*a2) / (2 * q)
	g := ((q+1)*a1 - (q+4)*a2) / ((q + 2) * a2)
	d := 3*q + 2*(1-g)
	v0, v1, v2 := 1+g/d*b, 1-(q-g)/d*b, 1-(q+2-g)/d*b
	if math.Abs(v0) < 1e-10 {
		v0 = 0
	}
	e := 1 - a2/q
	ratio := 1.0 // 0/0, where both moments are infinite
	if math.Abs(e) > 1e-14 || math.Abs(v1) > 1e-14 {
		ratio = e / v1
	}
	rho := ratio * ratio * v0 / v2 / q
	f := FTest{Scale: 1, DF1: q, DF2: 4 + (q+2)/(q*rho-1)}
	if math.Abs(f.DF2-2) >= 0.01 {
		f.Scale = f.DF2 * e / (f.DF2 - 2)
	}
	return f
}

// inverse returns (l v l')⁻¹.
func inverse(l *mat.Dense, v *mat.SymDense) (*mat.SymDense, error) {
	var a, b mat.Dense
	a.Mul(l, v)
	b.Mul(&a, l.T())
	var c mat.Cholesky
	if !c.Factorize(symmetric(&b)) {
		return nil, wearfit.ErrRank
	}
	out := &mat.SymDense{}
	if c.InverseTo(out) != nil {
		return nil, wearfit.ErrRank
	}
	return out, nil
}

// symmetric is a matrix without what rounding has made unlike.
func symmetric(a *mat.Dense) *mat.SymDense {
	n, _ := a.Dims()
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, (a.At(i, j)+a.At(j, i))/2)
		}
	}
	return out
}

// trace returns tr(ab).
func trace(a, b mat.Matrix) float64 {
	n, _ := a.Dims()
	var s float64
	for i := range n {
		for j := range n {
			s += a.At(i, j) * b.At(j, i)
		}
	}
	return s
}
