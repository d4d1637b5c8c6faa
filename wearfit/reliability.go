package wearfit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Coefficient is an intraclass correlation with its interval. It is a share of
// variance, within 0 and 1: what its formula leaves below 0 is 0, and Below says
// so of the value.
type Coefficient struct {
	Form   string // such as "ICC(2,1)"
	Value  float64
	Lo, Hi float64
	Below  bool // the targets differ less than the scatter of readings makes them
}

// shareOf keeps a coefficient and its interval within 0 and 1; an end that the
// formula does not give is the end of that range.
func shareOf(form string, v, lo, hi float64) Coefficient {
	c := Coefficient{Form: form, Value: min(max(v, 0), 1), Lo: min(max(lo, 0), 1), Hi: min(max(hi, 0), 1), Below: !(v >= 0)}
	if math.IsNaN(lo) {
		c.Lo = 0
	}
	if math.IsNaN(hi) {
		c.Hi = 1
	}
	if c.Below {
		c.Value, c.Lo = 0, 0
	}
	return c
}

// Reliability is the analysis of a complete table of targets by raters.
type Reliability struct {
	Targets, Raters                           int
	MSTargets, MSRaters, MSWithin, MSResidual float64
	// Forms are ICC(1,1), ICC(2,1), ICC(3,1), ICC(1,k), ICC(2,k), ICC(3,k), in
	// that order.
	Forms [6]Coefficient
}

// Intraclass returns the six coefficients of Shrout and Fleiss (Psychol Bull
// 1979;86:420-428) with the intervals of McGraw and Wong (Psychol Methods
// 1996;1:30-46) at level; x[i][j] is the reading of target i by rater j.
func Intraclass(x [][]float64, level float64) (Reliability, error) {
	if len(x) < 2 || len(x[0]) < 2 {
		return Reliability{}, &TooFewError{min(len(x), 2), 2}
	}
	r := Reliability{Targets: len(x), Raters: len(x[0])}
	if err := r.squares(x); err != nil {
		return Reliability{}, err
	}
	if !(r.MSResidual > 0) || !(r.MSWithin > 0) || !finite(r.MSTargets) {
		return Reliability{}, ErrNoScatter
	}
	r.forms(level)
	return r, nil
}

func (r *Reliability) squares(x [][]float64) error {
	n, k := float64(r.Targets), float64(r.Raters)
	var all float64
	raters := make([]float64, r.Raters)
	targets := make([]float64, r.Targets)
	for i, row := range x {
		if len(row) != r.Raters {
			return ErrUnbalanced
		}
		for j, v := range row {
			if !finite(v) {
				return &NonFiniteError{"value", i, v}
			}
			targets[i] += v / k
			raters[j] += v / n
			all += v / (n * k)
		}
	}
	var within, residual float64
	for i, row := range x {
		r.MSTargets += k * (targets[i] - all) * (targets[i] - all) / (n - 1)
		for j, v := range row {
			within += (v - targets[i]) * (v - targets[i])
			e := v - targets[i] - raters[j] + all
			residual += e * e
		}
	}
	for _, m := range raters {
		r.MSRaters += n * (m - all) * (m - all) / (k - 1)
	}
	r.MSWithin = within / (n * (k - 1))
	r.MSResidual = residual / ((n - 1) * (k - 1))
	return nil
}

func (r *Reliability) forms(level float64) {
	n, k := float64(r.Targets), float64(r.Raters)
	b, j, w, e := r.MSTargets, r.MSRaters, r.MSWithin, r.MSResidual
	p := (1 + level) / 2
	fq := func(d1, d2 float64) float64 { return distuv.F{D1: d1, D2: d2}.Quantile(p) }
	single := func(l float64) float64 { return (l - 1) / (l + k - 1) }

	l1, u1 := b/w/fq(n-1, n*(k-1)), b/w*fq(n*(k-1), n-1)
	l3, u3 := b/e/fq(n-1, (n-1)*(k-1)), b/e*fq((n-1)*(k-1), n-1)
	r2 := (b - e) / (b + (k-1)*e + k*(j-e)/n)
	l2, u2 := r.agreement(max(r2, 0), p)
	// Of the mean of k readings; below 0 it would leave the range of a share.
	mean := func(v float64) float64 {
		if v < 0 {
			return v
		}
		return k * v / (1 + (k-1)*v)
	}
	form := func(which int, of string) string { return fmt.Sprintf("ICC(%d,%s)", which, of) }
	r.Forms = [6]Coefficient{
		shareOf(form(1, "1"), (b-w)/(b+(k-1)*w), single(l1), single(u1)),
		shareOf(form(2, "1"), r2, l2, u2),
		shareOf(form(3, "1"), (b-e)/(b+(k-1)*e), single(l3), single(u3)),
		shareOf(form(1, "k"), (b-w)/b, 1-1/l1, 1-1/u1),
		shareOf(form(2, "k"), mean(r2), mean(l2), mean(u2)),
		shareOf(form(3, "k"), (b-e)/b, 1-1/l3, 1-1/u3),
	}
}

// agreement is the interval of ICC(2,1), with Satterthwaite's degrees of
// freedom.
func (r *Reliability) agreement(r2, p float64) (lo, hi float64) {
	n, k := float64(r.Targets), float64(r.Raters)
	b, j, e := r.MSTargets, r.MSRaters, r.MSResidual
	f := j / e
	c := n*(1+(k-1)*r2) - k*r2
	top := k*r2*f + c
	v := (k - 1) * (n - 1) * top * top / ((n-1)*k*k*r2*r2*f*f + c*c)
	fs := distuv.F{D1: n - 1, D2: v}.Quantile(p)
	ft := distuv.F{D1: v, D2: n - 1}.Quantile(p)
	rest := k*j + (k*n-k-n)*e
	return n * (b - fs*e) / (fs*rest + n*b), n * (ft*b - e) / (rest + n*ft*b)
}

// Concordance is Lin's coefficient: how closely pairs lie to the line of
// identity.
type Concordance struct {
	Value, Pearson, Bias float64 // Value = Pearson times Bias
	N                    int
	se                   float64 // of Fisher's transform
}

// Concord returns Lin's concordance (Lin LI. Biometrics 1989;45:255-268, with
// variances over n).
func Concord(a, b []float64) (Concordance, error) {
	if err := check(a, b, nil, 3); err != nil {
		return Concordance{}, err
	}
	n := float64(len(a))
	ma, va := stat.MeanVariance(a, nil)
	mb, vb := stat.MeanVariance(b, nil)
	f := (n - 1) / n
	va, vb = va*f, vb*f
	s := stat.Covariance(a, b, nil) * f
	if !(va > 0) || !(vb > 0) || !finite(va+vb) {
		return Concordance{}, ErrNoScatter
	}
	c := Concordance{N: len(a), Pearson: s / math.Sqrt(va*vb)}
	c.Value = 2 * s / (va + vb + (ma-mb)*(ma-mb))
	if c.Pearson == 0 {
		c.se = math.Inf(1)
		return c, nil
	}
	c.Bias = c.Value / c.Pearson
	r, q := c.Pearson, c.Value
	u2 := (ma - mb) * (ma - mb) / math.Sqrt(va*vb)
	v := ((1-r*r)*q*q*(1-q*q)/(r*r) + 2*q*q*q*(1-q)*u2/r - q*q*q*q*u2*u2/(2*r*r)) / (n - 2)
	c.se = math.Sqrt(max(v, 0)) / (1 - q*q)
	if q*q >= 1 {
		c.se = 0
	}
	return c, nil
}

// Interval returns the interval by Fisher's transform.
func (c Concordance) Interval(level float64) Interval {
	if math.Abs(c.Value) >= 1 {
		return Interval{c.Value, c.Value}
	}
	z, h := math.Atanh(c.Value), quantile(level, math.Inf(1))*c.se
	return Interval{math.Tanh(z - h), math.Tanh(z + h)}
}
