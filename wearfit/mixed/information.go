package mixed

import "gonum.org/v1/gonum/mat"

// information adds up, over patients, what is of second order in the variances.
type information struct {
	p  []*mat.SymDense // -X'V⁻¹GV⁻¹X by variance
	q  [][]*mat.Dense  // X'V⁻¹GV⁻¹GV⁻¹X by two
	tr *mat.SymDense   // tr(V⁻¹GV⁻¹G) by two
}

// information adds up over patients.
func (b *blocks) information(nat []float64) information {
	active := b.parts.active()
	n := len(active)
	out := information{tr: mat.NewSymDense(n, nil)}
	for range active {
		out.p = append(out.p, mat.NewSymDense(b.p, nil))
		row := make([]*mat.Dense, n)
		for j := range row {
			row[j] = mat.NewDense(b.p, b.p, nil)
		}
		out.q = append(out.q, row)
	}
	zero, bare := make([]float64, b.p), b.bare()
	for p := range len(b.first) - 1 {
		f := b.open(p, nat, zero)
		x := mat.NewDense(f.n, b.p, f.x)
		v := mat.NewDense(f.n, f.n, f.v)
		vg, gx := make([]*mat.Dense, n), make([]*mat.Dense, n)
		for a, part := range active {
			g := bare.derivative(p, part)
			vg[a], gx[a] = &mat.Dense{}, &mat.Dense{}
			vg[a].Mul(v, g)
			gx[a].Mul(g, x)
			var c mat.Dense
			c.Mul(x.T(), gx[a])
			addScaled(out.p[a], -1, symmetric(&c))
		}
		for a := range n {
			for c := range n {
				var d, e mat.Dense
				d.Mul(v, gx[c])
				e.Mul(gx[a].T(), &d)
				out.q[a][c].Add(out.q[a][c], &e)
				if c >= a {
					out.tr.SetSym(a, c, out.tr.At(a, c)+trace(vg[a], vg[c]))
				}
			}
		}
	}
	return out
}

// bare is b with nothing known.
func (b *blocks) bare() *blocks {
	bare := *b
	bare.known, bare.base = make([]float64, b.n), make([]float64, len(b.base))
	return &bare
}

// derivative is that of the covariance of the films of patient p by a variance, of b with
// nothing known: the covariance where this variance alone is 1.
func (b *blocks) derivative(p, part int) *mat.Dense {
	nat := make([]float64, b.parts.all())
	nat[part] = 1
	n := b.hipAt[b.first[p+1]] - b.hipAt[b.first[p]]
	v := make([]float64, n*n)
	b.cover(v, p, nat)
	return mat.NewDense(n, n, v)
}
