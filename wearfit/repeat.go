package wearfit

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

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
