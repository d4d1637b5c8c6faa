package mixed

import "gonum.org/v1/gonum/mat"

// byVariance returns the derivatives by a variance of V = ... + variance ZZ', from
// tr(V⁻¹ZZ') and the upper triangle h of U'U, U = Z'V⁻¹[X y]: of log|V| and, unless ml,
// log|X'V⁻¹X|; of the residual sum of squares at beta; of X'V⁻¹X. inv is its inverse.
func byVariance(tr float64, h, beta []float64, inv *mat.SymDense, ml bool) (dLog, dRSS float64, dXX *mat.SymDense) {
	n := len(beta)
	k := n + 1
	dLog, dXX = tr, mat.NewSymDense(n, nil)
	c := append(append(make([]float64, 0, k), beta...), -1)
	for i := range k {
		for j := i; j < k; j++ {
			v := h[i*k+j]
			twice := 2.0
			if i == j {
				twice = 1
			}
			dRSS -= twice * c[i] * c[j] * v
			if j < n {
				dXX.SetSym(i, j, -v)
				if !ml {
					dLog -= twice * inv.At(i, j) * v
				}
			}
		}
	}
	return dLog, dRSS, dXX
}

// addScaled adds v times b to a.
func addScaled(a *mat.SymDense, v float64, b *mat.SymDense) {
	if v == 0 {
		return
	}
	n := a.SymmetricDim()
	for i := range n {
		for j := i; j < n; j++ {
			a.SetSym(i, j, a.At(i, j)+v*b.At(i, j))
		}
	}
}
