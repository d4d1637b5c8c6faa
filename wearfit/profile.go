package wearfit

import (
	"math"
	"slices"
)

// profile is the least weighted sum of squares of a line and one column that a parameter
// bends, for one column after another: what the line leaves of both is worked out of y once,
// so that a column costs a few products.
type profile struct {
	root []float64 // square roots of the weights; nil for equal ones
	line [2][]float64
	left []float64 // what the line leaves of y, weighed
	bent []float64 // the same of the column
}

// newProfile takes the line through y over u, weighed by w; the errors are those of FitLinear.
func newProfile(u, y, w []float64) (profile, error) {
	n := len(y)
	one := unit(n)
	l, err := FitLinear([][]float64{one, u}, y, w)
	if err != nil {
		return profile{}, err
	}
	p := profile{line: [2][]float64{one, slices.Clone(u)}, left: l.Residuals, bent: make([]float64, n)}
	if w != nil {
		p.root = make([]float64, n)
		for i, v := range w {
			p.root[i] = math.Sqrt(v)
			p.left[i] *= p.root[i]
			p.line[0][i] *= p.root[i]
			p.line[1][i] *= p.root[i]
		}
	}
	for j, a := range p.line {
		for range 2 { // twice is as good as reflections (Björck, section 2.4)
			for _, q := range p.line[:j] {
				take(a, q)
			}
		}
		d := extent(a)
		for i := range a {
			a[i] /= d
		}
	}
	return p, nil
}

// take takes off a what it has of the unit vector q.
func take(a, q []float64) {
	d := product(q, a)
	q = q[:len(a)]
	for i := range a {
		a[i] -= d * q[i]
	}
}

// rss returns the sum of squares that is left with a column; +Inf where that cannot be told
// from the line.
func (p profile) rss(col []float64) float64 {
	a := p.bent
	col = col[:len(a)]
	if p.root == nil {
		copy(a, col)
	} else {
		root := p.root[:len(a)]
		for i, v := range col {
			a[i] = root[i] * v
		}
	}
	all := product(a, a)
	take(a, p.line[0])
	take(a, p.line[1])
	own := product(a, a)
	if !(own > rankTolerance*rankTolerance*all) {
		return math.Inf(1)
	}
	c := product(a, p.left) / own
	var sum float64
	left := p.left[:len(a)]
	for i, v := range a {
		r := left[i] - c*v
		sum += r * r
	}
	if !finite(sum) {
		return math.Inf(1)
	}
	return sum
}
