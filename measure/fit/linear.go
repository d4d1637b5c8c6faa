package fit

import "math"

// numbers holds one for each unknown.
type numbers interface {
	~[3]float64 | ~[4]float64 | ~[5]float64 | ~[6]float64 | ~[8]float64 | ~[9]float64 | ~[13]float64
}

// Solve returns x of a x = g for a symmetric positive definite a, which it uses up, and
// whether there is one.
func Solve[R numbers](a []R, g R) (x R, ok bool) {
	inv := make([]R, len(a))
	if !GaussJordan(a, inv) {
		return x, false
	}
	return Times(inv, g), true
}

// Times returns a v.
func Times[R numbers](a []R, v R) (out R) {
	for i := range a {
		for j := range a {
			out[i] += a[i][j] * v[j]
		}
	}
	return out
}

// GaussJordan sets inv, which holds zeros, to the inverse of the symmetric
// positive definite matrix a, of which the lower half is read, by elimination after
// scaling the diagonal to one, and reports whether there is one. It uses a up.
func GaussJordan[R numbers](a, inv []R) bool {
	var scale R
	for i := range a {
		if !(a[i][i] > 0) {
			return false
		}
		scale[i] = 1 / math.Sqrt(a[i][i])
	}
	for i := range a {
		for j := range i + 1 {
			a[i][j] *= scale[i] * scale[j]
			a[j][i] = a[i][j]
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
