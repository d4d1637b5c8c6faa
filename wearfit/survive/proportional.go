package survive

import (
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Proportional tests, for each column and for all together, that its hazard ratio is
// the same at all times, against one that changes with the share revised so far, 1
// less Kaplan-Meier (Grambsch PM, Therneau TM. Biometrika 1994;81:515-526; their score
// test with the whole information, not its mean). It takes all liners as independent.
// A test that the liners do not allow has DF 0.
func (h Hazards) Proportional() (columns []Test, all Test) {
	f := h.fit
	g := f.revisedBefore()
	score := make([]float64, f.p)
	cross, square := mat.NewSymDense(f.p, nil), mat.NewSymDense(f.p, nil)
	w, most := f.weights(f.best.beta)
	var part mat.SymDense
	f.sweep(f.best.beta, w, most, func(k int, t *toll) {
		floats.AddScaled(score, g[k], t.score)
		part.ScaleSym(g[k], t.info)
		cross.AddSym(cross, &part)
		part.ScaleSym(g[k]*g[k], t.info)
		square.AddSym(square, &part)
	})
	for j := range f.p {
		columns = append(columns, f.changing([]int{j}, score, cross, square))
	}
	every := make([]int, f.p)
	for j := range every {
		every[j] = j
	}
	return columns, f.changing(every, score, cross, square)
}

// revisedBefore is one less Kaplan-Meier just before each moment.
func (f *coxFit) revisedBefore() []float64 {
	out, left := make([]float64, len(f.moments)), 1.0
	for k, m := range f.moments {
		out[k] = 1 - left
		left *= 1 - float64(m.ends[Revised])/float64(len(f.liners)-m.first)
	}
	return out
}

// changing is the score test of coefficients that change in some columns, those that
// do not being fitted: the covariance of the score is square - cross info⁻¹ cross.
func (f *coxFit) changing(which []int, score []float64, cross, square *mat.SymDense) Test {
	z, v := make([]float64, len(which)), mat.NewSymDense(len(which), nil)
	for a, i := range which {
		z[a] = score[i]
		var x mat.VecDense
		if f.best.factor.SolveVecTo(&x, column(cross, i)) != nil {
			return Test{}
		}
		for b, j := range which[a:] {
			v.SetSym(a, a+b, square.At(i, j)-mat.Dot(column(cross, j), &x))
		}
	}
	t, err := quadratic(z, v)
	if err != nil {
		return Test{}
	}
	return t
}

func column(m *mat.SymDense, j int) *mat.VecDense {
	out := mat.NewVecDense(m.SymmetricDim(), nil)
	for i := range out.Len() {
		out.SetVec(i, m.At(i, j))
	}
	return out
}
