package mixed

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"linerwatch/wearfit"
)

// sums are what the likelihood needs of the films: for each hip Z'Z and
// Z'[X y] with Z = (1, scaled time), over all films [X y]'[X y]. Columns of X
// are made orthonormal and y is taken about its least-squares fit first, so
// that little is lost to rounding.
type sums struct {
	n, p  int
	zz    []float64 // three for each hip: 00, 01, 11
	zw    []float64 // 2 (p+1) for each hip: rows of Z
	ww    []float64 // (p+1)², the upper triangle filled
	first []int     // the first hip of each patient, and the number of hips
	order []int     // place of a hip among the sums, by order of appearance
	names []string  // of the hips in order of appearance
	index []int     // hip of each row, by order of appearance
	free  []int     // which of the four parameters are sought

	r      *mat.TriDense // X = Q r, upper
	start  []float64     // least-squares coefficients of y on Q
	center float64       // of time
	scale  float64
}

func newSums(d Data, o Options) (*sums, error) {
	s := &sums{n: len(d.Value), p: len(d.Fixed)}
	if err := s.arrange(d); err != nil {
		return nil, err
	}
	s.free = map[Random][]int{InterceptAndSlope: {0, 1, 2}, Uncorrelated: {0, 2}, InterceptOnly: {0}}[o.Random]
	if len(s.first)-1 < len(s.names) {
		s.free = append(slices.Clone(s.free), 3)
	}
	s.center, s.scale = 0, 1
	if o.Random != InterceptOnly {
		s.scaleTime(d.Time, o.Random == InterceptAndSlope)
	}
	if err := s.factorise(d.Fixed); err != nil {
		return nil, err
	}
	s.collect(d)
	return s, nil
}

// enough says whether there are films enough for the effects of hips, and not too
// many of one patient.
func (s *sums) enough(r Random) error {
	if len(s.first) < 3 {
		return ErrOneHip
	}
	need, some := 3.0, false
	if r == InterceptOnly {
		need = 2
	}
	for h := range len(s.names) {
		some = some || s.zz[3*h] >= need
	}
	if !some {
		return ErrFilmsPerHip
	}
	for p := range len(s.first) - 1 {
		n := 0.0
		for h := s.first[p]; h < s.first[p+1]; h++ {
			n += s.zz[3*h]
		}
		if n > mostRows {
			return &ManyError{s.names[slices.Index(s.order, s.first[p])], int(n), mostRows}
		}
	}
	return nil
}

// arrange numbers the hips, those of one patient next to each other.
func (s *sums) arrange(d Data) error {
	hips := make(map[string]int, s.n/3)
	s.index = make([]int, s.n)
	var patient []string
	for i, h := range d.Hip {
		k, ok := hips[h]
		if !ok {
			k = len(hips)
			hips[h] = k
			s.names = append(s.names, h)
			if d.Patient != nil {
				patient = append(patient, d.Patient[i])
			}
		}
		if d.Patient != nil && patient[k] != d.Patient[i] {
			return &NestError{h, patient[k], d.Patient[i]}
		}
		s.index[i] = k
	}
	s.order = make([]int, len(s.names))
	if d.Patient == nil {
		for k := range s.order {
			s.order[k] = k
			s.first = append(s.first, k)
		}
		s.first = append(s.first, len(s.order))
		return nil
	}
	members := map[string][]int{}
	var seen []string
	for k, p := range patient {
		if members[p] == nil {
			seen = append(seen, p)
		}
		members[p] = append(members[p], k)
	}
	place := 0
	for _, p := range seen {
		s.first = append(s.first, place)
		for _, k := range members[p] {
			s.order[k] = place
			place++
		}
	}
	s.first = append(s.first, place)
	return nil
}

// scaleTime chooses the unit of time of the random slope, and, where it is
// free to correlate with the intercept, its origin.
func (s *sums) scaleTime(t []float64, centred bool) {
	var m, v float64
	for _, x := range t {
		m += x / float64(s.n)
	}
	if centred {
		s.center = m
	}
	for _, x := range t {
		v += (x - s.center) * (x - s.center) / float64(s.n)
	}
	if v > 0 {
		s.scale = math.Sqrt(v)
	}
}

// factorise sets r so that the columns of X r⁻¹ are orthonormal but for
// rounding, which does no harm: what follows uses X r⁻¹ as it is.
func (s *sums) factorise(cols [][]float64) error {
	gram := mat.NewSymDense(s.p, nil)
	for i := range cols {
		for j := i; j < s.p; j++ {
			var v float64
			for k := range cols[i] {
				v += cols[i][k] * cols[j][k]
			}
			gram.SetSym(i, j, v)
		}
	}
	var c mat.Cholesky
	if !c.Factorize(gram) {
		return wearfit.ErrRank
	}
	s.r = mat.NewTriDense(s.p, mat.Upper, nil)
	c.UTo(s.r)
	for j := range s.p {
		if !(s.r.At(j, j) > 1e-7*math.Sqrt(gram.At(j, j))) {
			return wearfit.ErrRank
		}
	}
	return nil
}

// collect takes the sums in one pass over the films; a first pass finds the
// least-squares fit.
func (s *sums) collect(d Data) {
	p, k := s.p, s.p+1
	s.zz = make([]float64, 3*len(s.names))
	s.zw = make([]float64, 2*k*len(s.names))
	s.ww = make([]float64, k*k)
	q := make([]float64, k)
	s.start = make([]float64, p)
	for i := range d.Value {
		s.row(d.Fixed, i, q)
		for j := range p {
			s.start[j] += q[j] * d.Value[i]
		}
	}
	for i := range d.Value {
		s.row(d.Fixed, i, q)
		q[p] = d.Value[i]
		for j := range p {
			q[p] -= q[j] * s.start[j]
		}
		for a := range k {
			for b := a; b < k; b++ {
				s.ww[a*k+b] += q[a] * q[b]
			}
		}
		h := s.order[s.index[i]]
		t := (d.Time[i] - s.center) / s.scale
		zz, zw := s.zz[3*h:3*h+3], s.zw[2*k*h:2*k*(h+1)]
		zz[0]++
		zz[1] += t
		zz[2] += t * t
		for j, v := range q {
			zw[j] += v
			zw[k+j] += t * v
		}
	}
}

// row sets q to row i of X r⁻¹.
func (s *sums) row(cols [][]float64, i int, q []float64) {
	r := s.r.RawTriangular()
	for j := range s.p {
		v := cols[j][i]
		for l := range j {
			v -= q[l] * r.Data[l*r.Stride+j]
		}
		q[j] = v / r.Data[j*r.Stride+j]
	}
}

// coefficients returns those of X from those of X r⁻¹ about the start.
func (s *sums) coefficients(beta []float64) []float64 {
	b := make([]float64, s.p)
	for j := range b {
		b[j] = beta[j] + s.start[j]
	}
	return s.back(b)
}

// back solves r x = b.
func (s *sums) back(b []float64) []float64 {
	x := slices.Clone(b)
	for j := s.p - 1; j >= 0; j-- {
		for l := j + 1; l < s.p; l++ {
			x[j] -= s.r.At(j, l) * x[l]
		}
		x[j] /= s.r.At(j, j)
	}
	return x
}

// forward solves r' x = c: a combination of coefficients of X as one of those
// of X r⁻¹.
func (s *sums) forward(c []float64) []float64 {
	x := slices.Clone(c)
	for j := range s.p {
		for l := range j {
			x[j] -= s.r.At(l, j) * x[l]
		}
		x[j] /= s.r.At(j, j)
	}
	return x
}

// covariance returns that of the coefficients of X.
func (s *sums) covariance(chol *mat.Cholesky, unit2 float64) *mat.SymDense {
	inv := mat.NewDense(s.p, s.p, nil)
	for j := range s.p {
		e := make([]float64, s.p)
		e[j] = 1
		inv.SetCol(j, s.back(solve(chol, s.forward(e))))
	}
	cov := mat.NewSymDense(s.p, nil)
	for i := range s.p {
		for j := i; j < s.p; j++ {
			cov.SetSym(i, j, unit2*(inv.At(i, j)+inv.At(j, i))/2)
		}
	}
	return cov
}

// logScale is what orthonormal columns take from the deviance.
func (s *sums) logScale(ml bool) float64 {
	if ml {
		return 0
	}
	var v float64
	for j := range s.p {
		v += 2 * math.Log(s.r.At(j, j))
	}
	return v
}
