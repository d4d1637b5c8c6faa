package mixed

import (
	"math"
	"slices"
)

// blocks are the films as the covariance of each patient's films needs them, whole
// and of whatever structure: what sums cannot hold. Rows are put in order, patient
// by patient, hip by hip, film by film, and lengths are divided by unit.
type blocks struct {
	*sums
	parts      parts
	unit       float64
	rows       []int     // of the data
	w          []float64 // k for each row: X r⁻¹, and y about its start
	time       []float64 // scaled
	known      []float64 // the variance of each row that is known
	times      []float64 // what the residual variance of each row is multiplied by
	base       []float64 // that which all rows of a hip share
	class      []int
	hipAt      []int // first row of each hip, by place, and the number of rows
	filmAt     []int // first row of each film, and the number of rows; nil without
	filmOf     []int // first film of each hip, and the number of films
	classNames []string
}

// parts are the variances that are sought. Where there are several they are, by
// number: those of the hip's intercept, both and slope; of the patient's; of the
// film; of each class of readings.
type parts struct {
	hip, patient Random
	patients     bool // there is an effect of the patient
	films        bool
	classes      int
}

// The numbers of the variances.
const (
	hipPart     = 0
	patientPart = 3
	filmPart    = 6
	classPart   = 7
)

// mostRows is how many readings of one patient the model takes: their covariance is
// held as a whole. Nobody is filmed so often.
const mostRows = 2000

func (r Random) active(from int) []int {
	switch r {
	case InterceptAndSlope:
		return []int{from, from + 1, from + 2}
	case Uncorrelated:
		return []int{from, from + 2}
	}
	return []int{from}
}

// active are the numbers of the variances that are sought.
func (p parts) active() []int {
	a := p.hip.active(hipPart)
	if p.patients {
		a = append(a, p.patient.active(patientPart)...)
	}
	if p.films {
		a = append(a, filmPart)
	}
	for c := range p.classes {
		a = append(a, classPart+c)
	}
	return a
}

// all is how many variances there may be.
func (p parts) all() int { return classPart + p.classes }

// newBlocks puts the rows of d in order.
func newBlocks(s *sums, d Data, o Options, unit float64) (*blocks, error) {
	b := &blocks{sums: s, unit: unit, parts: parts{hip: o.Random, patient: InterceptOnly, patients: len(s.first)-1 < len(s.names), classes: 1}}
	if o.PatientSlope {
		b.parts.patient = o.Random
	}
	b.rows = make([]int, s.n)
	for i := range b.rows {
		b.rows[i] = i
	}
	slices.SortStableFunc(b.rows, func(i, j int) int { return s.order[s.index[i]] - s.order[s.index[j]] })
	for at, i := range b.rows {
		if h := s.order[s.index[i]]; h == len(b.hipAt) {
			b.hipAt = append(b.hipAt, at)
		}
	}
	b.hipAt = append(b.hipAt, s.n)
	if err := b.sortFilms(d); err != nil {
		return nil, err
	}
	b.takeClasses(d)
	if err := b.takeErrors(d, o); err != nil {
		return nil, err
	}
	b.fill(d)
	return b, nil
}

// sortFilms puts the readings of one film next to each other.
func (b *blocks) sortFilms(d Data) error {
	if d.Film == nil {
		return nil
	}
	b.parts.films = true
	for h := range len(b.hipAt) - 1 {
		rows := b.rows[b.hipAt[h]:b.hipAt[h+1]]
		slices.SortStableFunc(rows, func(i, j int) int {
			switch {
			case d.Film[i] < d.Film[j]:
				return -1
			case d.Film[i] > d.Film[j]:
				return 1
			}
			return 0
		})
		b.filmOf = append(b.filmOf, len(b.filmAt))
		for k, i := range rows {
			if k == 0 || d.Film[i] != d.Film[rows[k-1]] {
				b.filmAt = append(b.filmAt, b.hipAt[h]+k)
			}
		}
	}
	b.filmOf = append(b.filmOf, len(b.filmAt))
	b.filmAt = append(b.filmAt, b.n)
	if len(b.filmAt)-1 == b.n {
		return ErrRepeats
	}
	return nil
}

// takeClasses numbers the classes of readings by their names' order.
func (b *blocks) takeClasses(d Data) {
	b.class = make([]int, b.n)
	if d.Class == nil {
		return
	}
	b.classNames = slices.Compact(slices.Sorted(slices.Values(d.Class)))
	b.parts.classes = len(b.classNames)
	for at, i := range b.rows {
		b.class[at], _ = slices.BinarySearch(b.classNames, d.Class[i])
	}
}

// count is how many readings a class has.
func (b *blocks) count(class int) int {
	n := 0
	for _, c := range b.class {
		if c == class {
			n++
		}
	}
	return n
}

// takeErrors takes the errors that are known.
func (b *blocks) takeErrors(d Data, o Options) error {
	b.known, b.times, b.base = make([]float64, b.n), make([]float64, b.n), make([]float64, len(b.hipAt)-1)
	square := func(v float64) float64 { return v * v / (b.unit * b.unit) }
	for at, i := range b.rows {
		b.times[at] = 1
		switch {
		case d.SE != nil && o.ScaleSE:
			b.times[at] = square(d.SE[i])
		case d.SE != nil:
			b.known[at] = square(d.SE[i])
		}
	}
	if d.BaseSE == nil {
		return nil
	}
	for h := range b.base {
		first := d.BaseSE[b.rows[b.hipAt[h]]]
		for _, i := range b.rows[b.hipAt[h]:b.hipAt[h+1]] {
			if d.BaseSE[i] != first {
				return &BaseError{d.Hip[i], first, d.BaseSE[i]}
			}
		}
		b.base[h] = square(first)
	}
	return nil
}

// fill takes the columns and the values.
func (b *blocks) fill(d Data) {
	k := b.p + 1
	b.w, b.time = make([]float64, k*b.n), make([]float64, b.n)
	for at, i := range b.rows {
		q := b.w[k*at : k*at+k]
		b.row(d.Fixed, i, q)
		b.time[at] = (d.Time[i] - b.center) / b.scale
	}
	b.setValues(d.Value)
}

// setValues takes the values, in the order of the data.
func (b *blocks) setValues(y []float64) {
	k := b.p + 1
	for at, i := range b.rows {
		q := b.w[k*at : k*at+k]
		v := y[i]
		for j := range b.p {
			v -= q[j] * b.start[j]
		}
		q[b.p] = v / b.unit
	}
}

// cover sets v to the covariance of the films of patient p, n by n.
func (b *blocks) cover(v []float64, p int, nat []float64) {
	lo, hi := b.hipAt[b.first[p]], b.hipAt[b.first[p+1]]
	n := hi - lo
	clear(v[:n*n])
	add := func(from, to int, f func(i, j int) float64) {
		for i := from; i < to; i++ {
			row := v[(i-lo)*n : (i-lo)*n+n]
			for j := from; j < to; j++ {
				row[j-lo] += f(i, j)
			}
		}
	}
	line := func(part int, more float64) func(i, j int) float64 {
		a, c, d := nat[part]+more, nat[part+1], nat[part+2]
		return func(i, j int) float64 {
			return a + c*(b.time[i]+b.time[j]) + d*b.time[i]*b.time[j]
		}
	}
	if b.parts.patients {
		add(lo, hi, line(patientPart, 0))
	}
	for h := b.first[p]; h < b.first[p+1]; h++ {
		add(b.hipAt[h], b.hipAt[h+1], line(hipPart, b.base[h]))
		if b.parts.films {
			for f := b.filmOf[h]; f < b.filmOf[h+1]; f++ {
				add(b.filmAt[f], b.filmAt[f+1], func(int, int) float64 { return nat[filmPart] })
			}
		}
	}
	for i := lo; i < hi; i++ {
		v[(i-lo)*n+i-lo] += b.known[i] + b.times[i]*nat[classPart+b.class[i]]
	}
}

// cholesky replaces the lower part of a, n by n and symmetric, by its Cholesky factor
// and returns the logarithm of its determinant; false where it is not positive
// definite.
func cholesky(a []float64, n int) (logDet float64, ok bool) {
	for j := range n {
		for i := j; i < n; i++ {
			v := a[i*n+j]
			for l := range j {
				v -= a[i*n+l] * a[j*n+l]
			}
			if i == j {
				if !(v > 0) {
					return 0, false
				}
				logDet += math.Log(v)
				a[j*n+j] = math.Sqrt(v)
				continue
			}
			a[i*n+j] = v / a[j*n+j]
		}
	}
	return logDet, true
}

// invert replaces a, n by n and symmetric, by its inverse, and returns as cholesky
// does.
func invert(a []float64, n int) (logDet float64, ok bool) {
	if logDet, ok = cholesky(a, n); !ok {
		return 0, false
	}
	for j := range n { // its inverse, below
		a[j*n+j] = 1 / a[j*n+j]
		for i := j + 1; i < n; i++ {
			var v float64
			for l := j; l < i; l++ {
				v -= a[i*n+l] * a[l*n+j]
			}
			a[i*n+j] = v / a[i*n+i]
		}
	}
	for i := range n { // the product with its transpose
		for j := range i + 1 {
			var v float64
			for l := i; l < n; l++ {
				v += a[l*n+i] * a[l*n+j]
			}
			a[i*n+j], a[j*n+i] = v, v
		}
	}
	return logDet, true
}
