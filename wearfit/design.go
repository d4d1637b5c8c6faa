package wearfit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ErrDesign says that a planned study cannot be computed.
var ErrDesign = errors.New("wearfit: a plan needs two or more different times, a positive error and difference, and 0 < power < 1, 0 < level < 1")

// Plan is a study of rates in two groups of hips that are all read at the same
// times.
type Plan struct {
	Times      []float64 // years of the films
	SD         float64   // of one reading
	BetweenSD  float64   // of the true rates between hips
	Difference float64   // of the mean rates that shall be found
	Level      float64   // 1 less the two-sided error: 0.95
	Power      float64   // 0.8 or 0.9
}

// RateSD returns the standard deviation of the rates as measured: that
// between hips and the error of a line through the films.
func (p Plan) RateSD() (float64, error) {
	e, err := rateError(p.Times, p.SD)
	return math.Hypot(p.BetweenSD, e), err
}

// rateError is the standard error of a line's slope.
func rateError(times []float64, sd float64) (float64, error) {
	if len(times) < 2 || !(sd > 0) || !finite(sd) {
		return 0, ErrDesign
	}
	l, err := FitLine(times, make([]float64, len(times)), nil)
	if err != nil {
		return 0, err
	}
	return sd / math.Sqrt(l.spread), nil
}

// PerGroup returns the least number of hips in each group with which a t test
// of the rates has the power, from the noncentral t distribution (Cohen J.
// Statistical Power Analysis for the Behavioral Sciences, 2nd ed. Erlbaum 1988,
// chapter 2).
func (p Plan) PerGroup() (int, error) {
	sd, err := p.RateSD()
	if err != nil {
		return 0, err
	}
	d := math.Abs(p.Difference) / sd
	if !(d > 0) || !finite(d) || !inside(p.Power) || !inside(p.Level) {
		return 0, ErrDesign
	}
	z := distuv.UnitNormal
	about := z.Quantile((1+p.Level)/2) + z.Quantile(p.Power)
	n := max(2, int(2*about*about/(d*d))-3)
	for power(n, d, p.Level) < p.Power {
		if n++; n > 1_000_000 {
			return 0, ErrDesign
		}
	}
	for n > 2 && power(n-1, d, p.Level) >= p.Power {
		n--
	}
	return n, nil
}

// power is that of a two-sided t test with n in each group and a difference
// of d standard deviations.
func power(n int, d, level float64) float64 {
	df := float64(2*n - 2)
	delta := d * math.Sqrt(float64(n)/2)
	q := quantile(level, df)
	return 1 - noncentralTCDF(q, df, delta) + noncentralTCDF(-q, df, delta)
}

func inside(p float64) bool { return p > 0 && p < 1 }

// MinimumRate returns the least rate of one hip that the line through films at the given
// times, each read with a standard deviation sd, shows to differ from zero at level with
// the power: by Student's t, as the line itself is judged, from the noncentral t
// distribution (Cohen 1988, chapter 2). Two films are judged by sd itself.
func MinimumRate(times []float64, sd, level, power float64) (float64, error) {
	e, err := rateError(times, sd)
	if err != nil {
		return 0, err
	}
	if !inside(power) || !inside(level) {
		return 0, ErrDesign
	}
	df := float64(len(times) - 2)
	if df == 0 {
		z := distuv.UnitNormal
		return e * (z.Quantile((1+level)/2) + z.Quantile(power)), nil
	}
	q := quantile(level, df)
	short := func(delta float64) bool {
		return 1-noncentralTCDF(q, df, delta)+noncentralTCDF(-q, df, delta) < power
	}
	far := q
	for short(far) {
		far *= 2
	}
	return e * border(short, 0, far), nil
}
