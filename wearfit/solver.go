package wearfit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// residuals sets r = y - Σ b x, carried in two floats.
func residuals(r []float64, cols [][]float64, y, b []float64) {
	if len(cols) == 3 {
		residuals3(r, cols[0], cols[1], cols[2], y, b)
		return
	}
	for i := range r {
		hi, lo := y[i], 0.0
		for j, c := range cols {
			hi, lo = without(hi, lo, b[j], c[i])
		}
		r[i] = hi + lo
	}
}

// residuals3 is residuals of the three columns that curves have, twice as fast.
func residuals3(r, c0, c1, c2, y, b []float64) {
	n := len(r)
	c0, c1, c2, y = c0[:n], c1[:n], c2[:n], y[:n]
	b0, b1, b2 := b[0], b[1], b[2]
	for i := range r {
		hi, lo := without(y[i], 0, b0, c0[i])
		hi, lo = without(hi, lo, b1, c1[i])
		hi, lo = without(hi, lo, b2, c2[i])
		r[i] = hi + lo
	}
}

// without returns hi + lo - b c.
func without(hi, lo, b, c float64) (float64, float64) {
	p := -b * c
	e := math.FMA(-b, c, -p)
	s := hi + p
	z := s - hi
	return s, lo + ((hi - (s - z)) + (p - z) + e)
}

// solver holds the decomposition of a weighted design of columns scaled to
// length 1.
type solver struct {
	n, p  int
	root  []float64 // square roots of the weights; nil for equal ones
	scale []float64
	q     []float64 // column by column
	r     []float64 // row by row
	step  []float64 // of a refinement
	own   []float64 // the columns scaled, column by column
	done  []bool    // which of these are made; a column that changes is made anew
	inv   []float64 // the inverse of r
}

// newSolver decomposes a design; nil for one of less than full rank.
func newSolver(cols [][]float64, w []float64, n int) *solver {
	if n < len(cols) {
		return nil
	}
	s := emptySolver(len(cols), n, w)
	if !s.decompose(cols, 0) {
		return nil
	}
	return s
}

// emptySolver has the room for designs of p columns and the weights w.
func emptySolver(p, n int, w []float64) *solver {
	room := make([]float64, 2*p+2*n*p+2*p*p+n)
	take := func(n int) (v []float64) {
		v, room = room[:n:n], room[n:]
		return v
	}
	s := &solver{n: n, p: p, scale: take(p), q: take(n * p), r: take(p * p), step: take(p), inv: take(p * p), own: take(n * p), done: make([]bool, p)}
	if w != nil {
		s.root = room
		for i := range w {
			s.root[i] = math.Sqrt(w[i])
		}
	}
	return s
}

// decompose orthogonalises each column from that of number first on against those before
// it, twice, which is as good as reflections (Björck, section 2.4). It says whether the
// design is of full rank.
func (s *solver) decompose(cols [][]float64, first int) bool {
	p := s.p
	for j := first; j < p; j++ {
		a := s.column(j)
		if !s.scaled(j, cols[j], a) {
			return false
		}
		for k := range j {
			s.r[k*p+j] = 0
		}
		for range 2 {
			for k := range j {
				q := s.column(k)
				d := product(q, a)
				s.r[k*p+j] += d
				for i, v := range q {
					a[i] -= d * v
				}
			}
		}
		d := extent(a)
		if s.r[j*p+j] = d; !(d > rankTolerance) {
			return false
		}
		for i := range a {
			a[i] /= d
		}
	}
	return true
}

// scaled sets a to column j, weighed and of length 1; false where it has none.
func (s *solver) scaled(j int, col, a []float64) bool {
	own := s.own[j*s.n : (j+1)*s.n]
	if s.done[j] {
		copy(a, own)
		return true
	}
	for i, v := range col[:len(a)] {
		a[i] = v * s.weigh(i)
	}
	size := extent(a)
	if s.scale[j] = size; size == 0 {
		return false
	}
	for i, v := range a {
		a[i] = v / size
		own[i] = a[i]
	}
	s.done[j] = true
	return true
}

func (s *solver) column(j int) []float64 { return s.q[j*s.n : (j+1)*s.n] }

func product(a, b []float64) float64 {
	var v float64
	b = b[:len(a)]
	for i, x := range a {
		v += x * b[i]
	}
	return v
}

// extent is the Euclidean norm, of numbers of any size.
func extent(a []float64) float64 {
	var most float64
	for _, v := range a {
		if v = math.Abs(v); v > most {
			most = v
		}
	}
	if most == 0 || math.IsInf(most, 1) || math.IsNaN(most) {
		return most
	}
	var sum float64
	for _, v := range a {
		v /= most
		sum += v * v
	}
	return most * math.Sqrt(sum)
}

func (s *solver) weigh(i int) float64 {
	if s.root == nil {
		return 1
	}
	return s.root[i]
}

// fit sets coef to the coefficients and r to the residuals, and returns their sum of
// squares.
func (s *solver) fit(cols [][]float64, y, w, r, coef []float64) (rss float64) {
	s.solve(y, coef)
	for range 2 {
		residuals(r, cols, y, coef)
		s.solve(r, s.step)
		for j, d := range s.step {
			coef[j] += d
		}
	}
	residuals(r, cols, y, coef)
	for i, v := range r {
		rss += weight(w, i) * v * v
	}
	return rss
}

// solve sets b to the coefficients of y.
func (s *solver) solve(y, b []float64) {
	for j := range b {
		b[j] = s.along(j, y)
	}
	for j := s.p - 1; j >= 0; j-- {
		for k := j + 1; k < s.p; k++ {
			b[j] -= s.r[j*s.p+k] * b[k]
		}
		b[j] /= s.r[j*s.p+j]
	}
	for j := range b {
		b[j] /= s.scale[j]
	}
}

// along returns what y has of an orthogonal column.
func (s *solver) along(j int, y []float64) float64 {
	q := s.column(j)
	if s.root == nil {
		return product(q, y)
	}
	var v float64
	for i, x := range q {
		v += x * s.root[i] * y[i]
	}
	return v
}

func (s *solver) leverage() []float64 {
	h := make([]float64, s.n)
	for j := range s.p {
		for i, v := range s.column(j) {
			h[i] += v * v
		}
	}
	return h
}

// covariance returns unit (X'WX)⁻¹.
func (s *solver) covariance(unit float64) *mat.SymDense {
	cov := make([]float64, s.p*s.p)
	s.inverse(unit, cov)
	return mat.NewSymDense(s.p, cov)
}

// inverse sets cov to covariance, row by row.
func (s *solver) inverse(unit float64, cov []float64) {
	p, inv := s.p, s.inv
	for c := range p {
		for j := c; j >= 0; j-- {
			v := 0.0
			if j == c {
				v = 1
			}
			for k := j + 1; k <= c; k++ {
				v -= s.r[j*p+k] * inv[k*p+c]
			}
			inv[j*p+c] = v / s.r[j*p+j]
		}
	}
	for i := range p {
		for j := i; j < p; j++ {
			var v float64
			for k := j; k < p; k++ {
				v += inv[i*p+k] * inv[j*p+k]
			}
			v *= unit / s.scale[i] / s.scale[j]
			cov[i*p+j], cov[j*p+i] = v, v
		}
	}
}
