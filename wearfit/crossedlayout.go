package wearfit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// layout is the analysis of variance of a crossed study with whatever cells it
// has: sums of squares for targets and for readers, each after the other, for
// target by reader after both, and within cells (Henderson CR. Biometrics
// 1953;9:226-252, method 3).
type layout struct{ target, reader, inter, repeat stratum }

// stratum is one mean square: its degrees of freedom and what its expectation holds
// of the variances of targets, readers and target by reader; of that of repeats
// it holds one.
type stratum struct{ df, target, reader, inter float64 }

// residualDF are the degrees of freedom of target by reader and repeats together.
func (l layout) residualDF() float64 { return l.inter.df + l.repeat.df }

// layout takes the expectations from traces of projections. With N readings, P
// the projection on the cells of targets, readers, or both, and Z the design of
// target by reader, they need the trace of Z'PZ only.
func (r *cells) layout() (layout, error) {
	n := float64(r.n)
	squares := func(c cell) float64 { return c.n * c.n }
	var count, byTarget, byReader float64
	for i, row := range r.at {
		for _, c := range row {
			t, j := i, c.with
			if r.swapped {
				t, j = j, t
			}
			count++
			byTarget += squares(c) / r.perTarget[t]
			byReader += squares(c) / r.perReader[j]
		}
	}
	by := byTarget
	if r.swapped {
		by = byReader
	}
	rank, more := r.connection()
	if rank == 0 {
		return layout{}, ErrApart
	}
	targets, readers := float64(len(r.perTarget)), float64(len(r.perReader))
	both := max(targets, readers) + rank
	l := layout{repeat: stratum{df: n - count}, inter: stratum{df: count - both}}
	l.target.df, l.reader.df = both-readers, both-targets
	if l.inter.df > 0 {
		l.inter.inter = (n - by - more) / l.inter.df
	}
	if l.residualDF() < 1 {
		return layout{}, &TooFewError{r.n, r.n + 1}
	}
	l.target.target, l.target.inter = (n-byReader)/l.target.df, (by+more-byReader)/l.target.df
	l.reader.reader, l.reader.inter = (n-byTarget)/l.reader.df, (by+more-byTarget)/l.reader.df
	return l, nil
}

// connection returns the rank that the fewer levels add to the more, and by how
// much the trace of Z'PZ grows with them.
func (r *cells) connection() (rank, more float64) {
	k := r.few()
	w := mat.NewSymDense(k, nil)
	for _, p := range r.patterns {
		total := rowTotal(p.cells)
		for _, a := range p.cells {
			w.SetSym(a.with, a.with, w.At(a.with, a.with)+p.rows*a.n)
			for _, b := range p.cells {
				if b.with >= a.with {
					w.SetSym(a.with, b.with, w.At(a.with, b.with)-p.rows*a.n*b.n/total)
				}
			}
		}
	}
	inv, rank := pseudoInverse(w)
	for _, p := range r.patterns {
		total := rowTotal(p.cells)
		for _, a := range p.cells {
			var ap, pp float64
			for _, b := range p.cells {
				ap += inv.At(a.with, b.with) * b.n / total
				for _, c := range p.cells {
					pp += inv.At(b.with, c.with) * b.n * c.n / total / total
				}
			}
			more += p.rows * a.n * a.n * (inv.At(a.with, a.with) - 2*ap + pp)
		}
	}
	return rank, more
}

func rowTotal(row []cell) float64 {
	var n float64
	for _, c := range row {
		n += c.n
	}
	return n
}

// pseudoInverse returns that of a symmetric matrix without negative eigenvalues,
// and its rank.
func pseudoInverse(w *mat.SymDense) (inv *mat.SymDense, rank float64) {
	n := w.SymmetricDim()
	inv = mat.NewSymDense(n, nil)
	var e mat.EigenSym
	if !e.Factorize(w, true) {
		return inv, 0
	}
	values := e.Values(nil)
	var v mat.Dense
	e.VectorsTo(&v)
	for k, l := range values {
		if l <= 1e-10*math.Abs(values[n-1]) {
			continue
		}
		rank++
		inv.SymRankOne(inv, 1/l, v.ColView(k))
	}
	return inv, rank
}
