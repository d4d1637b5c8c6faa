package fit

import "math"

// GaussJordan sets inv, which holds zeros, to the inverse of the symmetric
// positive definite matrix a, by elimination after scaling the diagonal to one,
// and reports whether there is one. It uses a up.
func GaussJordan[Row [4]float64 | ~[6]float64](a, inv []Row) bool {
	var scale Row
	for i := range a {
		if !(a[i][i] > 0) {
			return false
		}
		scale[i] = 1 / math.Sqrt(a[i][i])
	}
	for i := range a {
		for j := range a {
			a[i][j] *= scale[i] * scale[j]
		}
		inv[i][i] = 1
	}
	for i := range a {
		p := a[i][i]
		if !(p > 1e-12) {
			return false
		}
		for j := range a {
			a[i][j] /= p
			inv[i][j] /= p
		}
		for r := range a {
			if f := a[r][i]; r != i {
				for j := range a {
					a[r][j] -= f * a[i][j]
					inv[r][j] -= f * inv[i][j]
				}
			}
		}
	}
	for i := range inv {
		for j := range inv {
			inv[i][j] *= scale[i] * scale[j]
		}
	}
	return true
}
