package wearfit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// ErrUnbalanced says that a table of readings lacks some, where every target
// needs as many from every reader.
var ErrUnbalanced = errors.New("wearfit: every target needs the same number of readings from every reader")

// limitsAt is the multiple of the standard deviation of the limits of
// agreement, as published.
const limitsAt = 1.96

// BlandAltman compares two methods or readers by the differences a - b.
type BlandAltman struct {
	N            int
	Bias         Estimate
	SD           float64  // of the differences
	Lower, Upper float64  // limits of agreement
	SELimit      float64  // of a limit, approximate
	Proportional Estimate // slope of the difference on the mean

	parts []varied // of SD²
}

// Agreement returns bias and limits of agreement (Bland JM, Altman DG. Lancet
// 1986;1:307-310; Stat Methods Med Res 1999;8:135-160) of three or more pairs.
func Agreement(a, b []float64) (BlandAltman, error) {
	if err := check(a, b, nil, 3); err != nil {
		return BlandAltman{}, err
	}
	d, m := make([]float64, len(a)), make([]float64, len(a))
	for i := range a {
		d[i], m[i] = a[i]-b[i], a[i]/2+b[i]/2
	}
	r := BlandAltman{N: len(a), SD: stat.StdDev(d, nil)}
	n, df := float64(r.N), float64(r.N-1)
	r.Bias = Estimate{stat.Mean(d, nil), r.SD / math.Sqrt(n), df}
	r.limits([]varied{{r.SD * r.SD, df}})
	r.Proportional = Estimate{DF: df - 1, SE: math.Inf(1)}
	if l, err := FitLine(m, d, nil); err == nil {
		r.Proportional = Estimate{l.Slope, l.SESlope, float64(l.DF)}
	}
	if !finite(r.SD) {
		return BlandAltman{}, ErrRange
	}
	return r, nil
}

// limits sets SD and the limits from the parts of the variance of a difference;
// the standard error of a limit is by the delta method.
func (r *BlandAltman) limits(parts []varied) {
	var sum, spread float64
	for _, p := range parts {
		sum += p.variance
		if p.variance > 0 {
			spread += 2 * p.variance * p.variance / p.df
		}
	}
	r.parts, r.SD = parts, math.Sqrt(sum)
	r.Lower, r.Upper = r.Bias.Value-limitsAt*r.SD, r.Bias.Value+limitsAt*r.SD
	r.SELimit = r.Bias.SE
	if sum > 0 {
		r.SELimit = math.Sqrt(r.Bias.SE*r.Bias.SE + limitsAt*limitsAt*spread/(4*sum))
	}
}

// LimitsApprox returns the approximate intervals of the two limits.
func (r BlandAltman) LimitsApprox(level float64) (lower, upper Interval) {
	df := r.Bias.DF
	return Estimate{r.Lower, r.SELimit, df}.Interval(level), Estimate{r.Upper, r.SELimit, df}.Interval(level)
}

// LimitsExact returns the exact intervals of the two limits from the
// noncentral t distribution (Carkeet A. Optom Vis Sci 2015;92:e71-80). With
// repeated readings there are none: it returns those of LimitsRecovered.
func (r BlandAltman) LimitsExact(level float64) (lower, upper Interval) {
	if len(r.parts) > 1 {
		return r.LimitsRecovered(level)
	}
	n := float64(r.N)
	delta := distuv.UnitNormal.Quantile(0.975) * math.Sqrt(n)
	near := noncentralT(n-1, delta, (1-level)/2) / math.Sqrt(n)
	far := noncentralT(n-1, delta, (1+level)/2) / math.Sqrt(n)
	b := r.Bias.Value
	return Interval{b - far*r.SD, b - near*r.SD}, Interval{b + near*r.SD, b + far*r.SD}
}

// LimitsRecovered returns the intervals of the two limits by the variance
// estimates recovered from those of the bias and of each part of the variance
// of a difference: one, or with repeated readings up to three (Zou GY. Stat
// Methods Med Res 2013;22:630-642).
func (r BlandAltman) LimitsRecovered(level float64) (lower, upper Interval) {
	z := distuv.UnitNormal.Quantile((1 + level) / 2)
	var sum, below, above float64
	for _, p := range r.parts {
		chi := distuv.ChiSquared{K: p.df}
		below = math.Hypot(below, p.variance-p.variance*p.df/chi.Quantile((1+level)/2))
		above = math.Hypot(above, p.variance*p.df/chi.Quantile((1-level)/2)-p.variance)
		sum += p.variance
	}
	lo, hi := math.Sqrt(max(sum-below, 0)), math.Sqrt(sum+above)
	near := math.Hypot(z*r.Bias.SE, limitsAt*(r.SD-lo))
	far := math.Hypot(z*r.Bias.SE, limitsAt*(hi-r.SD))
	return Interval{r.Lower - far, r.Lower + near}, Interval{r.Upper - near, r.Upper + far}
}

// noncentralT returns the quantile of the noncentral t distribution.
func noncentralT(df, delta, p float64) float64 {
	lo, hi := delta-10, delta+10
	for noncentralTCDF(lo, df, delta) > p {
		lo -= hi - lo
	}
	for noncentralTCDF(hi, df, delta) < p {
		hi += hi - lo
	}
	for range 100 {
		m := (lo + hi) / 2
		if noncentralTCDF(m, df, delta) < p {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

// noncentralTCDF integrates P(Z <= t s - delta) over s = sqrt(chi²/df).
func noncentralTCDF(t, df, delta float64) float64 {
	lg, _ := math.Lgamma(df / 2)
	c := math.Log(2) + df/2*math.Log(df/2) - lg
	f := func(s float64) float64 {
		if s <= 0 {
			return 0
		}
		return distuv.UnitNormal.CDF(t*s-delta) * math.Exp(c+(df-1)*math.Log(s)-df*s*s/2)
	}
	w := 9 / math.Sqrt(2*df)
	return quad.Fixed(f, max(0, 1-w), 1+w, 120, quad.Legendre{}, 0)
}

// AgreementRepeated compares two methods, each read one or more times on every
// target: the variance of the mean differences grows by what averaging took off
// it (Bland and Altman 1999, section 5.1). a[i] and b[i] are the readings of
// target i. The limits are those of one reading each; their intervals, by
// LimitsRecovered or approximate, hold the error of each part of the variance.
func AgreementRepeated(a, b [][]float64) (BlandAltman, error) {
	if len(a) != len(b) {
		return BlandAltman{}, &LengthError{len(a), len(b), 0}
	}
	ma, va, err := meansOf(a)
	if err != nil {
		return BlandAltman{}, err
	}
	mb, vb, err := meansOf(b)
	if err != nil {
		return BlandAltman{}, err
	}
	r, err := Agreement(ma, mb)
	if err != nil {
		return BlandAltman{}, err
	}
	parts := r.parts
	for _, p := range []varied{va, vb} {
		if p.df > 0 {
			parts = append(parts, p)
		}
	}
	r.limits(parts)
	return r, nil
}

// meansOf returns the means of the readings and (1 - mean of 1/m) times the
// variance within targets; without degrees of freedom where none is repeated.
func meansOf(v [][]float64) (means []float64, lost varied, err error) {
	var inverse float64
	repeated := false
	for i, x := range v {
		if len(x) == 0 {
			return nil, lost, &TooFewError{0, 1}
		}
		for _, y := range x {
			if !finite(y) {
				return nil, lost, &NonFiniteError{"value", i, y}
			}
		}
		means = append(means, stat.Mean(x, nil))
		inverse += 1 / float64(len(x)) / float64(len(v))
		repeated = repeated || len(x) > 1
	}
	if !repeated {
		return means, lost, nil
	}
	w, err := Repeat(v)
	if err != nil {
		return nil, lost, err
	}
	return means, varied{(1 - inverse) * w.SD * w.SD, float64(w.DF)}, nil
}

// Repeatability is how far readings of the same target scatter.
type Repeatability struct {
	Targets     int
	SD          float64 // within a target
	DF          int
	Coefficient float64 // 1.96 sqrt(2) SD: two readings differ by less in 95 % of cases
	Percent     float64 // SD over the mean reading, 100 times; 0 for a mean of 0
}

// Repeat returns the within-target standard deviation (one-way analysis of
// variance; ISO 5725-2:2019) of two or more readings on some of the targets.
func Repeat(v [][]float64) (Repeatability, error) {
	r := Repeatability{Targets: len(v)}
	var ss, sum, n float64
	for i, x := range v {
		if len(x) == 0 {
			return Repeatability{}, &TooFewError{0, 1}
		}
		m := stat.Mean(x, nil)
		if !finite(m) {
			return Repeatability{}, &NonFiniteError{"value", i, m}
		}
		for _, y := range x {
			ss += (y - m) * (y - m)
			sum += y
			n++
		}
		r.DF += len(x) - 1
	}
	if r.DF < 1 {
		return Repeatability{}, &TooFewError{1, 2}
	}
	r.SD = math.Sqrt(ss / float64(r.DF))
	r.Coefficient = limitsAt * math.Sqrt2 * r.SD
	if sum != 0 {
		r.Percent = 100 * r.SD / math.Abs(sum/n)
	}
	return r, nil
}

// Interval returns the interval of the within-target standard deviation from
// chi-square.
func (r Repeatability) Interval(level float64) Interval {
	c := distuv.ChiSquared{K: float64(r.DF)}
	return Interval{
		r.SD * math.Sqrt(float64(r.DF)/c.Quantile((1+level)/2)),
		r.SD * math.Sqrt(float64(r.DF)/c.Quantile((1-level)/2)),
	}
}

// DoubleExamination is the precision of a measurement of change, from pairs of
// films taken on the same day, when the true change is zero.
type DoubleExamination struct {
	N       int
	Mean    float64 // of the differences: a bias if not zero
	SD      float64 // of the differences about zero
	Within  float64 // of one reading: SD over sqrt(2)
	Normal  float64 // 1.96 SD
	Student float64 // t SD with N degrees of freedom
}

// Precision returns the precision of double examinations about zero (ISO
// 16087:2013).
func Precision(first, second []float64) (DoubleExamination, error) {
	if err := check(first, second, nil, 2); err != nil {
		return DoubleExamination{}, err
	}
	d := DoubleExamination{N: len(first)}
	n := float64(d.N)
	for i := range first {
		v := first[i] - second[i]
		d.Mean += v / n
		d.SD += v * v / n
	}
	d.SD = math.Sqrt(d.SD)
	if !finite(d.SD) {
		return DoubleExamination{}, ErrRange
	}
	d.Within = d.SD / math.Sqrt2
	d.Normal = limitsAt * d.SD
	d.Student = quantile(0.95, n) * d.SD
	return d, nil
}
