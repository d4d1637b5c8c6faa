package measure

import "math"

// eigen3 returns the eigenvalues of a symmetric matrix, the least first, and their vectors
// as columns, by rotations (Golub GH, Van Loan CF. Matrix Computations, 4th ed. Johns Hopkins
// 2013, section 8.5). Each is turned away until it is nothing beside the diagonal, which
// takes some four rounds.
func eigen3(a [3][3]float64) (values [3]float64, v [3][3]float64) {
	v = [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for range 30 {
		turned := false
		for _, pq := range [3][2]int{{0, 1}, {0, 2}, {1, 2}} {
			turned = rotate(&a, &v, pq[0], pq[1]) || turned
		}
		if !turned {
			break
		}
	}
	values = [3]float64{a[0][0], a[1][1], a[2][2]}
	for _, pq := range [3][2]int{{0, 1}, {1, 2}, {0, 1}} {
		if p, q := pq[0], pq[1]; values[p] > values[q] {
			values[p], values[q] = values[q], values[p]
			for i := range v {
				v[i][p], v[i][q] = v[i][q], v[i][p]
			}
		}
	}
	return values, v
}

// rotate turns a in the plane of p and q so that a[p][q] is 0, and v with it; false where
// it is as good as 0 already.
func rotate(a, v *[3][3]float64, p, q int) bool {
	off := a[p][q]
	if math.Abs(a[p][p])+math.Abs(off)/4 == math.Abs(a[p][p]) && math.Abs(a[q][q])+math.Abs(off)/4 == math.Abs(a[q][q]) {
		return false
	}
	tau := (a[q][q] - a[p][p]) / (2 * off)
	t := math.Copysign(1/(math.Abs(tau)+math.Sqrt(1+tau*tau)), tau)
	c := 1 / math.Sqrt(1+t*t)
	s := t * c
	a[p][p] -= t * off
	a[q][q] += t * off
	a[p][q], a[q][p] = 0, 0
	r := 3 - p - q
	x, y := a[r][p], a[r][q]
	a[r][p], a[r][q] = c*x-s*y, s*x+c*y
	a[p][r], a[q][r] = a[r][p], a[r][q]
	for i := range v {
		x, y := v[i][p], v[i][q]
		v[i][p], v[i][q] = c*x-s*y, s*x+c*y
	}
	return true
}
