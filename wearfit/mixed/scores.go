package mixed

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// score is what one patient's films add to the equations that the fixed effects solve: u,
// which add up to 0, and their expected slope h, which is also their covariance where the
// model is right.
type score struct {
	u []float64
	h *mat.SymDense
}

// sandwich is the covariance of the fixed effects from how far the patients' scores differ
// instead of from the model's variances, which cohorts of few hips know badly: CR2 of Bell
// RM, McCaffrey DF. Surv Methodol 2002;28:169-181, which makes it right in the mean where
// the model is right too.
type sandwich struct {
	scores []score
	chol   mat.Cholesky // of the sum of the slopes
	lift   []*mat.Dense // what makes up for a patient's own pull on the fixed effects
}

func newSandwich(scores []score) (*sandwich, error) {
	s := &sandwich{scores: scores}
	n := len(scores[0].u)
	info := mat.NewSymDense(n, nil)
	for _, v := range scores {
		info.AddSym(info, v.h)
	}
	var inv mat.SymDense
	if !s.chol.Factorize(info) || s.chol.InverseTo(&inv) != nil {
		return nil, wearfit.ErrRank
	}
	for _, v := range scores {
		s.lift = append(s.lift, lifted(v.h, &inv))
	}
	return s, nil
}

// lifted returns a with a (h - h J⁻¹ h) a' = h, the bracket being the covariance of a
// patient's score about the fixed effects that it has pulled itself: with k = √h J⁻¹ √h it
// is √h (1 - k)^-½ √h⁻¹. What only this patient tells is left out.
func lifted(h, inv *mat.SymDense) *mat.Dense {
	root, unroot := power(h, 0.5), power(h, -0.5)
	var k mat.Dense
	k.Product(root, inv, root)
	n, _ := k.Dims()
	left := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			left.SetSym(i, j, -(k.At(i, j)+k.At(j, i))/2)
		}
		left.SetSym(i, i, 1+left.At(i, i))
	}
	var out mat.Dense
	out.Product(root, power(left, -0.5), unroot)
	return &out
}

// power returns a symmetric matrix to a power, without the directions in which it is 0.
func power(m *mat.SymDense, to float64) *mat.Dense {
	const none = 1e-9
	n := m.SymmetricDim()
	out := mat.NewDense(n, n, nil)
	var e mat.EigenSym
	if !e.Factorize(m, true) {
		return out
	}
	values := e.Values(nil)
	var vectors, scaled mat.Dense
	e.VectorsTo(&vectors)
	scaled.CloneFrom(&vectors)
	for j, v := range values {
		f := 0.0
		if v > none*values[n-1] {
			f = math.Pow(v, to)
		}
		for i := range n {
			scaled.Set(i, j, f*scaled.At(i, j))
		}
	}
	out.Mul(&scaled, vectors.T())
	return out
}

// variance returns that of the combination x of the fixed effects, with Satterthwaite's
// degrees of freedom where the model is right (Pustejovsky JE, Tipton E. J Bus Econ Stat
// 2018;36:672-683). They are 0 where one patient alone tells a part of the combination.
func (s *sandwich) variance(x []float64) (v, df float64) {
	ax := solve(&s.chol, x)
	model := floats.Dot(x, ax)
	n := len(x)
	both := mat.NewSymDense(n, nil)
	var sum, square float64
	for p, one := range s.scores {
		g := mat.NewVecDense(n, nil)
		g.MulVec(s.lift[p].T(), mat.NewVecDense(n, ax))
		z := floats.Dot(g.RawVector().Data, one.u)
		v += z * z
		var hg mat.VecDense
		hg.MulVec(one.h, g)
		own := mat.Dot(g, &hg)
		b := forward(&s.chol, hg.RawVector().Data)
		pull := floats.Dot(b, b)
		sum += own - pull
		square += own*own - 2*own*pull
		both.SymRankOne(both, 1, mat.NewVecDense(n, b))
	}
	f := mat.Norm(both, 2)
	if square += f * f; !(sum > (1-1e-6)*model) || !(square > 0) {
		return v, 0
	}
	return v, sum * sum / square
}

// forward solves L b = a, L being the lower factor.
func forward(c *mat.Cholesky, a []float64) []float64 {
	var l mat.TriDense
	c.LTo(&l)
	b := make([]float64, len(a))
	for i := range b {
		b[i] = (a[i] - floats.Dot(l.RawTriangular().Data[i*l.RawTriangular().Stride:][:i], b[:i])) / l.At(i, i)
	}
	return b
}
