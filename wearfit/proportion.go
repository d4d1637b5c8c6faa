package wearfit

import "gonum.org/v1/gonum/stat/distuv"

// Proportion returns the exact interval of a share of which k among n were observed
// (Clopper CJ, Pearson ES. Biometrika 1934;26:404-413). Of none it is 0 to 1.
func Proportion(k, n int, level float64) Interval {
	out := Interval{0, 1}
	if k > 0 {
		out.Lo = distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile((1 - level) / 2)
	}
	if k < n {
		out.Hi = distuv.Beta{Alpha: float64(k + 1), Beta: float64(n - k)}.Quantile((1 + level) / 2)
	}
	return out
}
