package wearfit

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// AgreementRepeated compares two methods, each read one or more times on every
// target: the variance of the mean differences grows by what averaging took off
// it (Bland JM, Altman DG. J Biopharm Stat 2007;17:571-582: a true value that is
// constant). a[i] and b[i] are the readings of target i. The limits are those of one
// reading each; their intervals, by LimitsRecovered or approximate, hold the error of
// each part of the variance.
//
// of names what targets belong to, such as the hip of each film, whose true value
// varies and whose targets may differ alike; nil where each stands alone. The variance of the
// differences is then that between and that within (the same: a true value that
// varies), and the bias the mean over all targets.
func AgreementRepeated(a, b [][]float64, of []string) (BlandAltman, error) {
	if len(a) != len(b) || (of != nil && len(of) != len(a)) {
		return BlandAltman{}, &LengthError{len(a), len(b), len(of)}
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
	parts := r.spread.parts
	if of != nil {
		if parts, err = r.within(ma, mb, of); err != nil {
			return BlandAltman{}, err
		}
	}
	for _, p := range []varied{va, vb} {
		if p.df > 0 {
			parts = append(parts, p)
		}
	}
	r.limits(parts)
	return r, nil
}

// within takes bias and slope of targets that belong together, and returns the
// parts of the variance of one target's difference, by one-way analysis of variance.
func (r *BlandAltman) within(a, b []float64, of []string) ([]varied, error) {
	number := map[string]int{}
	var d, ga, gb [][]float64 // of those that belong together
	for i, name := range of {
		k, ok := number[name]
		if !ok {
			k, number[name] = len(d), len(d)
			d, ga, gb = append(d, nil), append(ga, nil), append(gb, nil)
		}
		d[k], ga[k], gb[k] = append(d[k], a[i]-b[i]), append(ga[k], a[i]), append(gb[k], b[i])
	}
	n, all := float64(len(d)), float64(len(a))
	if len(d) == len(a) {
		return r.spread.parts, nil
	}
	if len(d) < 3 {
		return nil, &TooFewError{len(d), 3}
	}
	var within, between, squares float64
	ma, mb := make([]float64, len(d)), make([]float64, len(d))
	for k, x := range d {
		m := stat.Mean(x, nil)
		ma[k], mb[k] = stat.Mean(ga[k], nil), stat.Mean(gb[k], nil)
		for _, v := range x {
			within += (v - m) * (v - m) / (all - n)
		}
		size := float64(len(x))
		between += size * (m - r.Bias.Value) * (m - r.Bias.Value) / (n - 1)
		squares += size * size
	}
	each := (all*all - squares) / ((n - 1) * all) // targets, as it were, of one
	own := max(0, (between-within)/each)
	r.Bias.SE, r.Bias.DF = math.Sqrt(own*squares/(all*all)+within/all), n-1
	r.Proportional = Estimate{DF: n - 2, SE: math.Inf(1)}
	if l, err := FitLine(middle(ma, mb), less(ma, mb), nil); err == nil {
		r.Proportional = Estimate{l.Slope, l.SESlope, float64(l.DF)}
	}
	return []varied{{between / each, n - 1}, {within * (1 - 1/each), all - n}}, nil
}

func less(a, b []float64) []float64 {
	d := make([]float64, len(a))
	for i := range a {
		d[i] = a[i] - b[i]
	}
	return d
}

func middle(a, b []float64) []float64 {
	m := make([]float64, len(a))
	for i := range a {
		m[i] = a[i]/2 + b[i]/2
	}
	return m
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
