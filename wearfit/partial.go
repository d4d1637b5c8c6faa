package wearfit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Minimum is a local minimum of the residual sum of squares over the one
// parameter of a model that is not linear.
type Minimum struct{ At, RSS float64 }

func byRSS(m []Minimum) []Minimum {
	slices.SortStableFunc(m, func(a, b Minimum) int { return cmp.Compare(a.RSS, b.RSS) })
	return m
}

// partial is a model that is linear once one parameter is fixed: the linear
// part is solved exactly for each value (variable projection), so that a
// profile needs no search in several dimensions.
type partial struct {
	cols [][]float64                     // of the design
	bent int                             // the number of the column that the parameter bends
	set  func(col []float64, at float64) // bends it
	y, w []float64
	best float64 // the lowest residual sum of squares
	df   int
}

// design returns the columns with the parameter held.
func (m partial) design(at float64) [][]float64 {
	cols := slices.Clone(m.cols)
	cols[m.bent] = make([]float64, len(m.y))
	m.set(cols[m.bent], at)
	return cols
}

// limit returns the residual sum of squares that bounds the profile-likelihood
// region at level: best (1 + F/df) with F of 1 and df degrees of freedom.
func (m partial) limit(level float64) float64 {
	if m.df < 1 {
		return math.Inf(1)
	}
	q := quantile(level, float64(m.df))
	return m.best * (1 + q*q/float64(m.df))
}

// held is the linear part of a partial model with its parameter held.
type held struct {
	coef []float64
	cov  []float64 // over sigma², row by row
	rss  float64   // +Inf where the design is not of full rank
}

// variance returns that of Σ c[j] b[j] over sigma².
func (h held) variance(c []float64) float64 {
	var v float64
	for i, a := range c {
		for j, b := range c {
			v += a * b * h.cov[i*len(c)+j]
		}
	}
	return max(v, 0)
}

// reach returns the end of the interval of Σ c[j] b[j] among the fits with the
// parameter held that stay within limit; sign says which end. extra is the
// variance over sigma² of what is added to the sum, such as that of a film.
func (h held) reach(c []float64, extra, sign, limit float64) float64 {
	if !(h.rss <= limit) {
		return math.Inf(-1)
	}
	return sign*combine(h.coef, c) + math.Sqrt((limit-h.rss)*(extra+h.variance(c)))
}

// hold returns the linear part with the parameter held.
func (m partial) hold(at float64) held { return m.holder().hold(at) }

// holder solves the linear part of a partial model for one value of the parameter after
// another, in the same room.
type holder struct {
	partial
	solver *solver
	known  int // columns that are decomposed already, as the parameter does not bend them
	last   held
	r      []float64
}

func (m partial) holder() *holder {
	n, p := len(m.y), len(m.cols)
	room := make([]float64, 2*n+p+p*p)
	h := &holder{partial: m, r: room[:n:n], last: held{coef: room[2*n : 2*n+p : 2*n+p], cov: room[2*n+p:]}}
	h.cols = slices.Clone(m.cols)
	h.cols[m.bent] = room[n : 2*n : 2*n]
	if n >= p {
		h.solver = emptySolver(p, n, m.w)
	}
	return h
}

// hold returns the linear part with the parameter held, to be kept.
func (h *holder) hold(at float64) held {
	v := h.look(at)
	v.coef, v.cov = slices.Clone(v.coef), slices.Clone(v.cov)
	return v
}

// look is hold until the next value is looked at.
func (h *holder) look(at float64) held {
	if h.rss(at); h.last.rss < math.Inf(1) {
		h.solver.inverse(1, h.last.cov)
	}
	return h.last
}

// rss returns the profile; +Inf where the design is not of full rank.
func (h *holder) rss(at float64) float64 {
	h.last.rss = math.Inf(1)
	if h.solver == nil {
		return h.last.rss
	}
	h.set(h.cols[h.bent], at)
	h.solver.done[h.bent] = false
	full := h.solver.decompose(h.cols, h.known)
	if h.known == 0 && full {
		h.known = h.bent
	}
	if full {
		if v := h.solver.fit(h.cols, h.y, h.w, h.r, h.last.coef); finite(v) {
			h.last.rss = v
		}
	}
	return h.last.rss
}

// always is a combination that does not depend on the parameter.
func always(c []float64) func(float64) []float64 {
	return func(float64) []float64 { return c }
}

func combine(b, c []float64) float64 {
	var s float64
	for j := range b {
		s += b[j] * c[j]
	}
	return s
}

// golden narrows a minimum of f between a and b by so many golden sections: 50
// place it, 28 are enough for its value.
func golden(f func(float64) float64, a, b float64, sections int) (at, value float64) {
	const phi = 0.6180339887498949
	c, d := b-phi*(b-a), a+phi*(b-a)
	fc, fd := f(c), f(d)
	for range sections {
		if fc <= fd {
			b, d, fd = d, c, fc
			c = b - phi*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + phi*(b-a)
			fd = f(d)
		}
	}
	if fc <= fd {
		return c, fc
	}
	return d, fd
}

// distinct returns the sorted distinct values.
func distinct(v []float64) []float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return slices.Compact(s)
}

// scaledCov returns v times s².
func scaledCov(v *mat.SymDense, s float64) *mat.SymDense {
	var out mat.SymDense
	out.ScaleSym(s*s, v)
	return &out
}
