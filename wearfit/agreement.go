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

	spread Spread
}

// Agreement returns bias and limits of agreement (Bland JM, Altman DG. Lancet
// 1986;1:307-310; Stat Methods Med Res 1999;8:135-160) of three or more pairs.
func Agreement(a, b []float64) (BlandAltman, error) {
	if err := check(a, b, nil, 3); err != nil {
		return BlandAltman{}, err
	}
	d, m := less(a, b), middle(a, b)
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
	r.spread = spreadOf(parts...)
	r.SD = r.spread.SD
	var spread float64
	for _, p := range r.spread.parts {
		spread += 2 * p.variance * p.variance / p.df
	}
	r.Lower, r.Upper = r.Bias.Value-limitsAt*r.SD, r.Bias.Value+limitsAt*r.SD
	r.SELimit = r.Bias.SE
	if r.SD > 0 {
		r.SELimit = math.Sqrt(r.Bias.SE*r.Bias.SE + limitsAt*limitsAt*spread/(4*r.SD*r.SD))
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
	if len(r.spread.parts) > 1 {
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
	sd := r.spread.Interval(level)
	near := math.Hypot(z*r.Bias.SE, limitsAt*(r.SD-sd.Lo))
	far := math.Hypot(z*r.Bias.SE, limitsAt*(sd.Hi-r.SD))
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
