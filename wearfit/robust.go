package wearfit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// RankLine is a line from the ranks of slopes between pairs of observations.
type RankLine struct {
	N                int
	Slope, Intercept float64
	Residuals        []float64

	slopes []float64 // sorted
	spread float64   // standard deviation of Kendall's S, ties counted
}

// FitTheilSen returns the median of the slopes of all pairs at different times
// (Theil H. Proc K Ned Akad Wet 1950;53:386-392; Sen PK. J Am Stat Assoc
// 1968;63:1379-1389); the intercept is the median of y - slope t. Up to
// 29 % of the observations may be wild.
func FitTheilSen(t, y []float64) (RankLine, error) {
	if err := check(t, y, nil, 2); err != nil {
		return RankLine{}, err
	}
	l := RankLine{N: len(t)}
	for i := range t {
		for j := range i {
			if t[i] != t[j] {
				l.slopes = append(l.slopes, (y[i]-y[j])/(t[i]-t[j]))
			}
		}
	}
	if len(l.slopes) == 0 {
		return RankLine{}, ErrEqualTimes
	}
	slices.Sort(l.slopes)
	n := float64(len(t))
	l.spread = math.Sqrt(max(n*(n-1)*(2*n+5)-ties(t)-ties(y), 0) / 18)
	return l.through(t, y, median(l.slopes))
}

// FitSiegel returns the repeated median: of each observation the median slope
// to all others, and of these the median (Siegel AF. Biometrika
// 1982;69:242-244). Up to half of the observations may be wild. It has no
// interval.
func FitSiegel(t, y []float64) (RankLine, error) {
	if err := check(t, y, nil, 2); err != nil {
		return RankLine{}, err
	}
	var each []float64
	for i := range t {
		var s []float64
		for j := range t {
			if t[i] != t[j] {
				s = append(s, (y[i]-y[j])/(t[i]-t[j]))
			}
		}
		if len(s) > 0 {
			each = append(each, median(s))
		}
	}
	if len(each) == 0 {
		return RankLine{}, ErrEqualTimes
	}
	return RankLine{N: len(t)}.through(t, y, median(each))
}

func (l RankLine) through(t, y []float64, slope float64) (RankLine, error) {
	l.Slope = slope
	l.Residuals = make([]float64, len(t))
	for i := range t {
		l.Residuals[i] = y[i] - slope*t[i]
	}
	l.Intercept = median(l.Residuals)
	for i := range l.Residuals {
		l.Residuals[i] -= l.Intercept
	}
	if !finite(l.Slope) || !finite(l.Intercept) {
		return RankLine{}, ErrRange
	}
	return l, nil
}

// SlopeInterval returns Sen's interval of the slope by the normal
// approximation of Kendall's S; unbounded where it runs past the slopes there
// are, or for a repeated median.
func (l RankLine) SlopeInterval(level float64) Interval {
	n := float64(len(l.slopes))
	h := distuv.UnitNormal.Quantile((1+level)/2) * l.spread
	lo := int(math.RoundToEven((n-h)/2)) - 1
	hi := int(math.RoundToEven((n + h) / 2))
	if lo < 0 || hi >= len(l.slopes) {
		return Unbounded()
	}
	return Interval{l.slopes[lo], l.slopes[hi]}
}

// ties returns Σ k (k-1) (2k+5) over groups of k equal values.
func ties(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	var sum float64
	for i := 0; i < len(s); {
		j := i
		for j < len(s) && s[j] == s[i] {
			j++
		}
		k := float64(j - i)
		sum += k * (k - 1) * (2*k + 5)
		i = j
	}
	return sum
}

func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	m := len(s) / 2
	if len(s)%2 == 1 {
		return s[m]
	}
	return s[m-1]/2 + s[m]/2
}

// Huber is a robust regression: observations beyond 1.345 scales count less.
type Huber struct {
	Coef       []float64
	Cov        *mat.SymDense
	Scale      float64
	DF         int
	Weights    []float64 // 1 for an observation that is not held back
	Residuals  []float64
	Iterations int
}

// huberTuning keeps 95 % of the precision of least squares where all errors
// are normal.
const huberTuning = 1.345

// rounding is how far a fit through all observations leaves them, over the largest:
// FitLinear refines it in twice the precision.
const rounding = 1e-25

// FitHuber minimises Huber's loss of y - Σ b[j] cols[j] by reweighted least
// squares to convergence; the scale is the median absolute residual over
// 0.6745, taken anew in each step (Huber PJ. Robust Statistics. Wiley 1981;
// Venables WN, Ripley BD. Modern Applied Statistics with S, 4th ed. Springer
// 2002, section 6.5).
func FitHuber(cols [][]float64, y []float64) (Huber, error) {
	l, err := FitLinear(cols, y, nil)
	if err != nil {
		return Huber{}, err
	}
	if l.DF == 0 {
		return Huber{}, &TooFewError{len(y), len(cols) + 1}
	}
	h := Huber{DF: l.DF, Weights: make([]float64, len(y))}
	start := newSolver(cols, nil, len(y))
	var size float64
	for _, v := range y {
		size = max(size, math.Abs(v))
	}
	for h.Iterations = 1; h.Iterations <= 1000; h.Iterations++ {
		h.Scale = scaleOf(l.Residuals)
		if !(h.Scale > rounding*size) {
			return Huber{}, ErrNoScatter
		}
		for i, r := range l.Residuals {
			h.Weights[i] = min(1, huberTuning*h.Scale/math.Abs(r))
		}
		next, err := FitLinear(cols, y, h.Weights)
		if err != nil {
			return Huber{}, err
		}
		var moved, size float64
		for i, r := range next.Residuals {
			moved += (r - l.Residuals[i]) * (r - l.Residuals[i])
			size += r * r
		}
		l = next
		if moved <= 1e-26*size {
			h.Coef, h.Residuals = l.Coef, l.Residuals
			h.Cov = start.covariance(h.variance())
			return h, nil
		}
	}
	return Huber{}, ErrUnsettled
}

// scaleOf is the median absolute residual about zero, as a standard deviation.
func scaleOf(r []float64) float64 {
	a := make([]float64, len(r))
	for i, v := range r {
		a[i] = math.Abs(v)
	}
	return median(a) / 0.6745
}

// variance is that of an observation in Huber's asymptotic covariance, with
// his correction for the number of coefficients.
func (h Huber) variance() float64 {
	n, p := float64(len(h.Residuals)), float64(len(h.Coef))
	var s float64
	inside := make([]float64, len(h.Residuals))
	for i, r := range h.Residuals {
		s += h.Weights[i] * r * h.Weights[i] * r
		if math.Abs(r) <= huberTuning*h.Scale {
			inside[i] = 1
		}
	}
	m, v := stat.MeanVariance(inside, nil)
	kappa := 1 + p*v/(n*m*m)
	return s / (n - p) * (kappa / m) * (kappa / m)
}

// Estimate returns the j-th coefficient.
func (h Huber) Estimate(j int) Estimate {
	return Estimate{h.Coef[j], math.Sqrt(h.Cov.At(j, j)), float64(h.DF)}
}

// Combine returns Σ c[j] Coef[j].
func (h Huber) Combine(c []float64) Estimate {
	return Estimate{combine(h.Coef, c), math.Sqrt(max(form(h.Cov, c), 0)), float64(h.DF)}
}
