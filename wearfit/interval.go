package wearfit

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a confidence interval. An end that the data cannot tell is
// infinite.
type Interval struct{ Lo, Hi float64 }

// Open says whether an end of the interval cannot be told.
func (i Interval) Open() bool { return math.IsInf(i.Lo, -1) || math.IsInf(i.Hi, 1) }

// Contains says whether v lies within the interval, its ends included.
func (i Interval) Contains(v float64) bool { return i.Lo <= v && v <= i.Hi }

// Widen returns the interval of v with an independent error of standard error se that its
// films do not tell, as of the scale: it adds the squares of the half widths on each side
// (Zou GY, Donner A. Stat Med 2008;27:1693-1702), so that more error is never a narrower
// interval.
func (i Interval) Widen(v, se, level float64) Interval {
	more := quantile(level, math.Inf(1)) * se
	return Interval{v - math.Hypot(v-i.Lo, more), v + math.Hypot(i.Hi-v, more)}
}

// Unbounded is the interval of a quantity of which the data say nothing.
func Unbounded() Interval { return Interval{math.Inf(-1), math.Inf(1)} }

// Estimate is a value with its standard error and degrees of freedom.
type Estimate struct {
	Value, SE float64
	DF        float64 // +Inf where the error is known
}

// Interval returns Value ± q SE with q of Student's t with DF degrees of
// freedom; of the normal distribution where DF is infinite; unbounded where DF
// is not positive.
func (e Estimate) Interval(level float64) Interval {
	if e.SE == 0 {
		return Interval{e.Value, e.Value}
	}
	q := quantile(level, e.DF)
	if math.IsInf(q, 1) || math.IsInf(e.SE, 1) {
		return Unbounded()
	}
	return Interval{e.Value - q*e.SE, e.Value + q*e.SE}
}

// P returns the two-sided probability of a value at least as far from null: 1
// where the estimate equals it, also 1 where there are no degrees of freedom.
func (e Estimate) P(null float64) float64 {
	d := math.Abs(e.Value - null)
	switch {
	case d == 0 || e.DF <= 0 || math.IsInf(e.SE, 1):
		return 1
	case e.SE == 0:
		return 0
	case e.DF > 1e9:
		return math.Erfc(d / e.SE / math.Sqrt2) // to the last digit where it is small
	}
	return 2 * distuv.StudentsT{Sigma: 1, Nu: e.DF}.Survival(d/e.SE)
}

// quantile returns the two-sided quantile of Student's t; for 1, 2 and 4 degrees of
// freedom, those of most hips, in closed form (Shaw WT. J Comput Finance 2006;9:37-73), and
// for 3 by its distribution in closed form.
func quantile(level, df float64) float64 {
	p := (1 + level) / 2
	a := math.Sqrt(1 - level*level) // of 4p(1-p)
	switch {
	case df <= 0:
		return math.Inf(1)
	case df > 1e9: // the same to nine digits, and beyond what Student's is computed for
		return distuv.UnitNormal.Quantile(p)
	case df == 1:
		return math.Tan(math.Pi / 2 * level)
	case df == 2:
		return level * math.Sqrt2 / a
	case df == 3:
		return math.Sqrt(3) * math.Tan(angle3(level))
	case df == 4:
		return 2 * math.Sqrt(math.Cos(math.Acos(a)/3)/a-1)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p)
}

// angle3 is the angle x at which Student's distribution of 3 degrees of freedom holds level
// between -√3 tan x and √3 tan x: x + sin x cos x = level π/2. Newton's steps come to it from
// below, as the left side bends downwards.
func angle3(level float64) float64 {
	x, goal := 0.0, level*math.Pi/2
	for range 100 {
		s, c := math.Sincos(x)
		step := (goal - x - s*c) / (2 * c * c)
		if !(step > 1e-16*x) {
			break
		}
		x += step
	}
	return x
}
