package wearfit

import (
	"math"
	"slices"
)

// Line is a least-squares line y = Intercept + Slope*t.
//
// Two observations fix a line but say nothing about its error: with DF 0 the
// standard errors are +Inf and the intervals unbounded until WithSigma states
// the error.
type Line struct {
	N                int
	Slope, Intercept float64
	SESlope          float64
	SEIntercept      float64
	Cov              float64 // covariance of intercept and slope; 0 with DF 0
	Sigma            float64 // residual standard deviation of an observation of weight 1
	DF               int     // degrees of freedom: N-2, through the origin N-1
	Residuals        []float64
	Leverage         []float64
	R2               float64 // about the mean; through the origin about zero

	center  float64 // weighted mean time; 0 through the origin
	level   float64 // variance of the mean value over sigma²: 1/Σw; 0 through the origin
	spread  float64 // Σ w (t-center)²
	certain bool    // Sigma is known, not estimated
	last    float64 // the last time
}

// FitLine fits y = a + b t by minimising Σ w (y - a - b t)². It needs two
// observations at two times; w are weights, nil for equal. Weights are
// relative precisions, such as 1/se²; they must be positive.
func FitLine(t, y, w []float64) (Line, error) {
	if err := check(t, y, w, 2); err != nil {
		return Line{}, err
	}
	if slices.Min(t) == slices.Max(t) {
		return Line{}, ErrEqualTimes
	}
	var sw float64
	for i := range t {
		sw += weight(w, i)
	}
	l := Line{N: len(t), DF: len(t) - 2, center: mean(t, w, sw), level: 1 / sw}
	ybar := mean(y, w, sw)
	l.fitSlope(t, y, w, ybar)
	l.Intercept = ybar - l.Slope*l.center
	return l.finish(t, y, w, ybar)
}

// FitOrigin fits y = b t, a line that is known to pass through zero, by
// minimising Σ w (y - b t)². It needs one observation away from t = 0.
func FitOrigin(t, y, w []float64) (Line, error) {
	if err := check(t, y, w, 1); err != nil {
		return Line{}, err
	}
	if slices.Min(t) == 0 && slices.Max(t) == 0 {
		return Line{}, ErrEqualTimes
	}
	l := Line{N: len(t), DF: len(t) - 1}
	l.fitSlope(t, y, w, 0)
	return l.finish(t, y, w, 0)
}

// fitSlope sets the slope of y - ybar on t - l.center.
func (l *Line) fitSlope(t, y, w []float64, ybar float64) {
	var sty float64
	for i := range t {
		d := t[i] - l.center
		l.spread += weight(w, i) * d * d
		sty += weight(w, i) * d * (y[i] - ybar)
	}
	l.Slope = sty / l.spread
}

// finish fills in residuals, leverages and errors. ybar is what R² counts from.
func (l Line) finish(t, y, w []float64, ybar float64) (Line, error) {
	l.last = slices.Max(t)
	l.Residuals = make([]float64, l.N)
	l.Leverage = make([]float64, l.N)
	var rss, tss float64
	for i := range t {
		d, wi := t[i]-l.center, weight(w, i)
		// Taken from the centre, where the line is known best.
		r := (y[i] - ybar) - l.Slope*d
		l.Residuals[i] = r
		l.Leverage[i] = wi * (l.level + d*d/l.spread)
		rss += wi * r * r
		tss += wi * (y[i] - ybar) * (y[i] - ybar)
	}
	if !finite(l.Slope) || !finite(l.Intercept) || !finite(rss) || !finite(tss) || !finite(l.level+1/l.spread) {
		return Line{}, ErrRange
	}
	if tss > 0 {
		l.R2 = 1 - rss/tss
	}
	if l.DF == 0 {
		l.setSigma(math.Inf(1))
		return l, nil
	}
	l.setSigma(math.Sqrt(rss / float64(l.DF)))
	if !finite(l.SESlope) || !finite(l.SEIntercept) || !finite(l.Cov) {
		return Line{}, ErrRange
	}
	return l, nil
}

// setSigma scales the standard errors.
func (l *Line) setSigma(sigma float64) {
	l.Sigma = sigma
	l.SESlope = sigma / math.Sqrt(l.spread)
	l.SEIntercept, l.Cov = 0, 0
	if l.level > 0 {
		l.SEIntercept = sigma * math.Sqrt(l.level+l.center*l.center/l.spread)
		if finite(sigma) {
			l.Cov = -sigma * sigma * l.center / l.spread
		}
	}
}

// WithSigma returns the line with its errors taken from a known standard
// deviation of an observation of weight 1 instead of from the residuals;
// intervals then use the normal distribution. With weights 1/se² of known
// standard errors, sigma is 1.
func (l Line) WithSigma(sigma float64) Line {
	l.certain = true
	l.setSigma(sigma)
	return l
}

// SlopeInterval returns the interval of the slope at level (0.95).
func (l Line) SlopeInterval(level float64) (lo, hi float64) {
	return l.around(l.Slope, l.SESlope, level)
}

// InterceptInterval returns the interval of the intercept at level; through
// the origin it is (0, 0).
func (l Line) InterceptInterval(level float64) (lo, hi float64) {
	return l.around(l.Intercept, l.SEIntercept, level)
}

// Since returns the line counted from its own value at t, as where the baseline film is
// one of those in the line: it is 0 there, and only its slope is uncertain.
func (l Line) Since(t float64) Line {
	l.Intercept, l.center, l.level = -l.Slope*t, t, 0
	l.setSigma(l.Sigma)
	return l
}

// Mean returns the line at t and the standard error of that mean.
func (l Line) Mean(t float64) (y, se float64) {
	return l.Intercept + l.Slope*t, l.scaled(l.share(t))
}

// PredictInterval returns the interval of one further observation, of weight
// 1, at t.
func (l Line) PredictInterval(t, level float64) (lo, hi float64) {
	return l.PredictWeighted(t, 1, level)
}

// PredictWeighted returns the interval of one further observation of weight w,
// such as 1/se², at t.
func (l Line) PredictWeighted(t, w, level float64) (lo, hi float64) {
	return l.around(l.Intercept+l.Slope*t, l.scaled(1/w+l.share(t)), level)
}

// Quantile returns the two-sided quantile for l's degrees of freedom, for
// example 2.776 at level 0.95 and 4 degrees of freedom. With DF 0 it is +Inf;
// after WithSigma it is the normal quantile.
func (l Line) Quantile(level float64) float64 {
	if l.certain {
		return quantile(level, math.Inf(1))
	}
	return quantile(level, float64(l.DF))
}

// share returns the variance of the line at t over sigma².
func (l Line) share(t float64) float64 {
	d := t - l.center
	return l.level + d*d/l.spread
}

// scaled returns sigma*sqrt(share), 0 for a share of 0 even where sigma is
// unknown.
func (l Line) scaled(share float64) float64 {
	if share == 0 {
		return 0
	}
	return l.Sigma * math.Sqrt(share)
}

// around returns v ± quantile*se.
func (l Line) around(v, se, level float64) (lo, hi float64) {
	if se == 0 {
		return v, v
	}
	h := l.Quantile(level) * se
	return v - h, v + h
}

func weight(w []float64, i int) float64 {
	if w == nil {
		return 1
	}
	return w[i]
}

// mean returns the weighted mean; the second pass takes off the rounding of
// the first.
func mean(v, w []float64, sw float64) float64 {
	var m float64
	for range 2 {
		var s float64
		for i := range v {
			s += weight(w, i) * (v[i] - m)
		}
		m += s / sw
	}
	return m
}
