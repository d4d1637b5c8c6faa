package survive

import (
	"math"

	"linerwatch/wearfit"

	"gonum.org/v1/gonum/stat/distuv"
)

// Share is an estimated share of the liners.
type Share struct {
	Value float64
	// SE is 0 where all or none had the event, of which the scatter tells nothing;
	// Interval does not rest on it there.
	SE float64
	// alone are the liners (or patients, one liner of each) that stand for all where
	// the share is 0 or 1.
	alone int
}

// Method says how the interval of a share was made.
type Method string

// The methods of Share.Interval.
const (
	LogLog Method = "log-log"
	Exact  Method = "exact"
)

// Method tells how Interval is made.
func (s Share) Method() Method {
	if s.edge() != 0 {
		return Exact
	}
	return LogLog
}

// edge is -1 for a share of 0, 1 for a share of 1; rounding aside.
func (s Share) edge() int {
	const rounding = 1e-12
	switch {
	case s.Value < rounding:
		return -1
	case s.Value > 1-rounding:
		return 1
	}
	return 0
}

// Interval returns the log-log interval, which stays between 0 and 1: the normal
// interval of log(-log(share)) (Kalbfleisch JD, Prentice RL. The Statistical
// Analysis of Failure Time Data. Wiley 1980, page 15; for a cumulative incidence
// Choudhury JB. Stat Med 2002;21:1129-1144).
//
// It does not exist where the share is 0 or 1. There it is the exact interval of a
// binomial share (Clopper CJ, Pearson ES. Biometrika 1934;26:404-413) of the liners
// still at risk: n liners that all lasted are compatible with shares from
// ((1-level)/2)^(1/n) to 1. That holds or is too wide, since it leaves out those
// seen for a shorter time; it is what the beta product interval is before the first
// event (Fay MP, Brittain EH, Proschan MA. Biostatistics 2013;14:723-736). Where
// hips of one patient may fail alike, n counts patients. The interval is never of
// zero width; with nobody at risk it is (0, 1).
func (s Share) Interval(level float64) wearfit.Interval {
	far := 0.0
	if s.alone > 0 {
		far = math.Pow((1-level)/2, 1/float64(s.alone))
	}
	switch s.edge() {
	case -1:
		return wearfit.Interval{Lo: 0, Hi: 1 - far}
	case 1:
		return wearfit.Interval{Lo: far, Hi: 1}
	}
	if !(s.SE > 0) { // patients that balance: their scatter tells nothing
		return wearfit.Interval{Lo: 0, Hi: 1}
	}
	h := distuv.UnitNormal.Quantile((1+level)/2) * s.SE / (s.Value * -math.Log(s.Value))
	return wearfit.Interval{Lo: math.Pow(s.Value, math.Exp(h)), Hi: math.Pow(s.Value, math.Exp(-h))}
}
