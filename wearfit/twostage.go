package wearfit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Welch compares the means of two groups whose variances may differ.
type Welch struct {
	N          [2]int
	Mean, SD   [2]float64
	Difference Estimate // first less second
	T, P       float64
}

// CompareMeans runs Welch's t test (Welch BL. Biometrika 1947;34:28-35).
func CompareMeans(a, b []float64) (Welch, error) {
	var w Welch
	var v [2]float64
	for i, x := range [][]float64{a, b} {
		if err := check(x, x, nil, 2); err != nil {
			return Welch{}, err
		}
		w.N[i] = len(x)
		w.Mean[i], w.SD[i] = stat.MeanStdDev(x, nil)
		v[i] = w.SD[i] * w.SD[i] / float64(len(x))
	}
	s := v[0] + v[1]
	if !(s > 0) || !finite(s) {
		return Welch{}, ErrNoScatter
	}
	w.Difference = Estimate{w.Mean[0] - w.Mean[1], math.Sqrt(s),
		s * s / (v[0]*v[0]/float64(w.N[0]-1) + v[1]*v[1]/float64(w.N[1]-1))}
	w.T = w.Difference.Value / w.Difference.SE
	w.P = w.Difference.P(0)
	return w, nil
}

// Means compares the means of several groups whose variances may differ.
type Means struct {
	F, DF1, DF2 float64
	P           float64
}

// CompareAllMeans runs Welch's analysis of variance (Welch BL. Biometrika
// 1951;38:330-336); with two groups it is the t test of CompareMeans.
func CompareAllMeans(groups [][]float64) (Means, error) {
	k := float64(len(groups))
	if k < 2 {
		return Means{}, &TooFewError{len(groups), 2}
	}
	var sum, mean float64
	w, m := make([]float64, len(groups)), make([]float64, len(groups))
	for g, x := range groups {
		if err := check(x, x, nil, 2); err != nil {
			return Means{}, err
		}
		var v float64
		m[g], v = stat.MeanVariance(x, nil)
		w[g] = float64(len(x)) / v
		if !(v > 0) || !finite(w[g]) || !(w[g] > 0) {
			return Means{}, ErrNoScatter
		}
		sum += w[g]
		mean += w[g] * m[g]
	}
	mean /= sum
	var between, unlike float64
	for g, x := range groups {
		between += w[g] * (m[g] - mean) * (m[g] - mean)
		unlike += (1 - w[g]/sum) * (1 - w[g]/sum) / float64(len(x)-1)
	}
	r := Means{DF1: k - 1, DF2: (k*k - 1) / (3 * unlike)}
	r.F = between / (k - 1) / (1 + 2*(k-2)/(k*k-1)*unlike)
	if !finite(r.F) || !finite(r.DF2) {
		return Means{}, ErrRange
	}
	r.P = distuv.F{D1: r.DF1, D2: r.DF2}.Survival(r.F)
	return r, nil
}

// KruskalWallis compares several groups by the ranks of their values.
type KruskalWallis struct {
	H  float64 // corrected for ties
	DF int
	P  float64 // of chi-square
}

// CompareAllRanks runs the Kruskal-Wallis test (Kruskal WH, Wallis WA. J Am Stat
// Assoc 1952;47:583-621), by chi-square. A group may have one value.
func CompareAllRanks(groups [][]float64) (KruskalWallis, error) {
	if len(groups) < 2 {
		return KruskalWallis{}, &TooFewError{len(groups), 2}
	}
	var all []float64
	for _, x := range groups {
		if err := check(x, x, nil, 1); err != nil {
			return KruskalWallis{}, err
		}
		all = append(all, x...)
	}
	n := float64(len(all))
	tied := cubes(all) // sorts them
	if !(tied < n*n*n-n) {
		return KruskalWallis{}, ErrNoScatter
	}
	var sum float64
	for _, x := range groups {
		var r float64
		for _, v := range x {
			below, _ := slices.BinarySearch(all, v)
			upTo, _ := slices.BinarySearchFunc(all, v, func(a, b float64) int {
				if a <= b {
					return -1
				}
				return 1
			})
			r += float64(below+upTo+1) / 2
		}
		sum += r * r / float64(len(x))
	}
	k := KruskalWallis{DF: len(groups) - 1}
	k.H = (12/(n*(n+1))*sum - 3*(n+1)) / (1 - tied/(n*n*n-n))
	k.P = distuv.ChiSquared{K: float64(k.DF)}.Survival(k.H)
	return k, nil
}

// MannWhitney compares two groups by the ranks of their values.
type MannWhitney struct {
	U     float64 // pairs in which the first group's value is higher, ties half
	Share float64 // U over the number of pairs
	P     float64
	Exact bool
}

// CompareRanks runs the Mann-Whitney test (Mann HB, Whitney DR. Ann Math Stat
// 1947;18:50-60): exact for fewer than 50 values in each group without ties,
// otherwise by the normal approximation with correction for ties and
// continuity.
func CompareRanks(a, b []float64) (MannWhitney, error) {
	for _, x := range [][]float64{a, b} {
		if err := check(x, x, nil, 1); err != nil {
			return MannWhitney{}, err
		}
	}
	var m MannWhitney
	for _, x := range a {
		for _, y := range b {
			switch {
			case x > y:
				m.U++
			case x == y:
				m.U += 0.5
			}
		}
	}
	n1, n2 := float64(len(a)), float64(len(b))
	m.Share = m.U / (n1 * n2)
	all := append(slices.Clone(a), b...)
	tied := cubes(all)
	if tied == 0 && len(a) < 50 && len(b) < 50 {
		m.Exact = true
		m.P = exactU(len(a), len(b), min(m.U, n1*n2-m.U))
		return m, nil
	}
	n := n1 + n2
	v := n1 * n2 / 12 * (n + 1 - tied/(n*(n-1)))
	if !(v > 0) {
		return MannWhitney{}, ErrNoScatter
	}
	z := max(math.Abs(m.U-n1*n2/2)-0.5, 0) / math.Sqrt(v)
	m.P = min(1, 2*distuv.UnitNormal.Survival(z))
	return m, nil
}

// cubes returns Σ k³ - k over groups of k equal values.
func cubes(v []float64) float64 {
	slices.Sort(v)
	var sum float64
	for i := 0; i < len(v); {
		j := i
		for j < len(v) && v[j] == v[i] {
			j++
		}
		k := float64(j - i)
		sum += k*k*k - k
		i = j
	}
	return sum
}

// exactU returns the two-sided probability of a U of at most u, by counting
// arrangements: those of n and m are those that end with either group.
func exactU(n, m int, u float64) float64 {
	most := n * m
	// ways[j][k]: arrangements of i first and j second values with U = k.
	ways := make([][]float64, m+1)
	for j := range ways {
		ways[j] = make([]float64, most+1)
		ways[j][0] = 1
	}
	for range n {
		next := make([][]float64, m+1)
		for j := range next {
			next[j] = make([]float64, most+1)
			for k := range next[j] {
				if k >= j {
					next[j][k] = ways[j][k-j]
				}
				if j > 0 {
					next[j][k] += next[j-1][k]
				}
			}
		}
		ways = next
	}
	var low, all float64
	for k, w := range ways[m] {
		all += w
		if float64(k) <= u {
			low += w
		}
	}
	return min(1, 2*low/all)
}
