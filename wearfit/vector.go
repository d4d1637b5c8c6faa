package wearfit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// ErrCovariance says that a covariance matrix is not positive definite.
var ErrCovariance = errors.New("wearfit: covariance is not positive definite")

// Cov2 is the covariance of two components measured on one film.
type Cov2 struct{ SS, SM, MM float64 }

// Vector is a line in two components, superior and medial, fitted together.
type Vector struct {
	N                int
	Intercept, Slope [2]float64 // superior, medial
	Cov              *mat.SymDense
	DF               float64
	Residuals        [2][]float64
	Scatter          Cov2 // of a film about the lines; with covariances given, the factor on them in SS and MM
}

// FitVector fits a line to each component. Where covs is nil, films are equal
// and their covariance is taken from the residuals (n-2 degrees of freedom);
// otherwise films are weighted by their covariances, whose common factor is
// taken from the residuals (2n-4). Cov is ordered (superior intercept,
// superior slope, medial intercept, medial slope).
func FitVector(t, superior, medial []float64, covs []Cov2) (Vector, error) {
	for _, y := range [][]float64{superior, medial} {
		if err := check(t, y, nil, 3); err != nil {
			return Vector{}, err
		}
	}
	if len(distinct(t)) < 2 {
		return Vector{}, ErrEqualTimes
	}
	if covs != nil {
		return fitWhitened(t, superior, medial, covs)
	}
	one := unit(len(t))
	s, err := FitLinear([][]float64{one, t}, superior, nil)
	if err != nil {
		return Vector{}, err
	}
	m, err := FitLinear([][]float64{one, t}, medial, nil)
	if err != nil {
		return Vector{}, err
	}
	v := Vector{N: len(t), DF: float64(len(t) - 2), Residuals: [2][]float64{s.Residuals, m.Residuals}}
	for j := range 2 {
		v.put(j, s.Coef[j], m.Coef[j])
	}
	for i := range t {
		a, b := s.Residuals[i], m.Residuals[i]
		v.Scatter.SS += a * a / v.DF
		v.Scatter.SM += a * b / v.DF
		v.Scatter.MM += b * b / v.DF
	}
	base := newSolver([][]float64{one, t}, nil, len(t)).covariance(1)
	k := [2][2]float64{{v.Scatter.SS, v.Scatter.SM}, {v.Scatter.SM, v.Scatter.MM}}
	v.Cov = mat.NewSymDense(4, nil)
	for i := range 4 {
		for j := i; j < 4; j++ {
			v.Cov.SetSym(i, j, k[i/2][j/2]*base.At(i%2, j%2))
		}
	}
	return v, nil
}

func (v *Vector) put(j int, superior, medial float64) {
	if j == 0 {
		v.Intercept = [2]float64{superior, medial}
		return
	}
	v.Slope = [2]float64{superior, medial}
}

// fitWhitened turns each film's pair into two observations of variance 1.
func fitWhitened(t, superior, medial []float64, covs []Cov2) (Vector, error) {
	if len(covs) != len(t) {
		return Vector{}, &LengthError{len(t), len(superior), len(covs)}
	}
	n := len(t)
	cols := make([][]float64, 4)
	for j := range cols {
		cols[j] = make([]float64, 2*n)
	}
	y := make([]float64, 2*n)
	for i, c := range covs {
		// Lower factor of the covariance: the medial row less its part that
		// follows the superior one.
		a := math.Sqrt(c.SS)
		b := c.SM / a
		d := math.Sqrt(c.MM - b*b)
		if !(a > 0) || !(d > 0) || !finite(a+d) {
			return Vector{}, ErrCovariance
		}
		y[2*i] = superior[i] / a
		y[2*i+1] = (medial[i] - b*superior[i]/a) / d
		for j, x := range []float64{1, t[i]} {
			cols[j][2*i] = x / a
			cols[j][2*i+1] = -b * x / a / d
			cols[j+2][2*i+1] = x / d
		}
	}
	l, err := FitLinear(cols, y, nil)
	if err != nil {
		return Vector{}, err
	}
	v := Vector{N: n, DF: float64(l.DF), Cov: l.Cov}
	v.put(0, l.Coef[0], l.Coef[2])
	v.put(1, l.Coef[1], l.Coef[3])
	v.Scatter = Cov2{l.Sigma * l.Sigma, 0, l.Sigma * l.Sigma}
	for i := range t {
		v.Residuals[0] = append(v.Residuals[0], superior[i]-v.Intercept[0]-v.Slope[0]*t[i])
		v.Residuals[1] = append(v.Residuals[1], medial[i]-v.Intercept[1]-v.Slope[1]*t[i])
	}
	return v, nil
}

// Along returns the rate in a direction, degrees from superior, medial
// positive. The direction must be known beforehand: one taken from the same
// films turns a rate of zero into a positive one.
func (v Vector) Along(degrees float64) Estimate {
	s, c := math.Sincos(degrees * math.Pi / 180)
	k := []float64{0, c, 0, s}
	return Estimate{c*v.Slope[0] + s*v.Slope[1], math.Sqrt(max(form(v.Cov, k), 0)), v.DF}
}

// Direction returns the direction of the rate, degrees from superior, medial
// positive.
func (v Vector) Direction() float64 {
	return math.Atan2(v.Slope[1], v.Slope[0]) * 180 / math.Pi
}

// Speed is the length of the rate. A length is never negative and reads too
// high where it is small, so its interval is that of the true lengths that
// would give readings like this one.
type Speed struct {
	Value    float64
	Interval Interval
	Limit    float64 // a rate of zero gives a longer one in (1-level)/2 of cases
	Below    bool    // Value is not above Limit: below detection
}

// Speed returns the length of the rate with its interval at level. The
// interval holds the lengths s for which a rate of s in the direction found
// gives a longer and a shorter reading than Value each with a probability of
// at least (1-level)/2, the errors having the bivariate t distribution of the
// fit. Below detection its lower end is 0 and its upper end at least Limit.
func (v Vector) Speed(level float64) Speed {
	d := newLength(v)
	s := Speed{Value: math.Hypot(v.Slope[0], v.Slope[1])}
	tail := (1 - level) / 2
	far := 1e-12
	for d.shorter(0, far) < 1-tail/4 {
		far *= 2
	}
	s.Limit = root(func(r float64) float64 { return d.shorter(0, r) - (1 - tail) }, 0, far)
	s.Below = s.Value <= s.Limit
	top := s.Value + 2*far
	if !s.Below {
		s.Interval.Lo = root(func(x float64) float64 { return 1 - tail - d.shorter(x, s.Value) }, 0, s.Value)
	}
	s.Interval.Hi = root(func(x float64) float64 { return tail - d.shorter(x, s.Value) }, 0, top)
	if s.Below {
		s.Interval.Hi = max(s.Interval.Hi, s.Limit)
	}
	return s
}

// root bisects for a zero of a function that grows from a to b; it returns a
// where the function is positive there already.
func root(f func(float64) float64, a, b float64) float64 {
	for range 40 {
		m := (a + b) / 2
		if f(m) < 0 {
			a = m
		} else {
			b = m
		}
	}
	return (a + b) / 2
}

// length is the distribution of the length of a vector in the plane with
// errors of a bivariate t distribution, in its principal axes.
type length struct {
	axis     [2]float64 // the direction found
	sd       [2]float64
	scales   []float64 // nodes over sqrt(chi²/df)
	shares   []float64
	x, share []float64 // nodes of the standard normal
}

func newLength(v Vector) length {
	c := Cov2{v.Cov.At(1, 1), v.Cov.At(1, 3), v.Cov.At(3, 3)}
	half := math.Atan2(2*c.SM, c.SS-c.MM) / 2
	mid, dif := (c.SS+c.MM)/2, math.Hypot((c.SS-c.MM)/2, c.SM)
	at := math.Atan2(v.Slope[1], v.Slope[0]) - half
	d := length{
		axis: [2]float64{math.Cos(at), math.Sin(at)},
		sd:   [2]float64{math.Sqrt(mid + dif), math.Sqrt(max(mid-dif, 0))},
	}
	const nodes = 20
	p, w := make([]float64, nodes), make([]float64, nodes)
	quad.Legendre{}.FixedLocations(p, w, 0, 1)
	chi := distuv.ChiSquared{K: v.DF}
	for i := range p {
		d.scales = append(d.scales, math.Sqrt(v.DF/chi.Quantile(p[i])))
	}
	d.shares = w
	const fine = 32
	d.x, d.share = make([]float64, fine), make([]float64, fine)
	quad.Legendre{}.FixedLocations(d.x, d.share, -1, 1)
	return d
}

// shorter returns the probability that s along the axis plus error is no
// longer than r.
func (d length) shorter(s, r float64) float64 {
	var p float64
	for k, z := range d.scales {
		p += d.shares[k] * d.normal(s, r, d.sd[0]*z, d.sd[1]*z)
	}
	return p
}

// normal is shorter for normal errors: over each chord of the circle of
// radius r, the normal distribution across it.
func (d length) normal(s, r, sx, sy float64) float64 {
	mx, my := s*d.axis[0], s*d.axis[1]
	if sx == 0 {
		if math.Hypot(mx, my) <= r {
			return 1
		}
		return 0
	}
	lo, hi := max(-r, mx-8*sx), min(r, mx+8*sx)
	if lo >= hi {
		return 0
	}
	var p float64
	for i, u := range d.x {
		x := (lo+hi)/2 + u*(hi-lo)/2
		h := math.Sqrt(max(r*r-x*x, 0))
		z := (x - mx) / sx
		p += d.share[i] * (hi - lo) / 2 * math.Exp(-z*z/2) / (sx * math.Sqrt(2*math.Pi)) * within(my, sy, h)
	}
	return p
}

// within is the probability that a normal value lies between -h and h.
func within(m, sd, h float64) float64 {
	if sd == 0 {
		if math.Abs(m) <= h {
			return 1
		}
		return 0
	}
	n := distuv.UnitNormal
	return n.CDF((h-m)/sd) - n.CDF((-h-m)/sd)
}
