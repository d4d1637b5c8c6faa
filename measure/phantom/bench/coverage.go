package main

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A stated 95 % interval is to hold the truth in 93 to 97 % of cases.
const (
	leastHeld = 0.93
	mostHeld  = 0.97
)

// inside is how many of a kind of interval held the truth, with the cases of each
// hip apart: those of one hip are not independent of each other.
type inside struct {
	n, held []float64 // per hip
	last    int
}

// add counts an error with its stated standard error for a hip; one without a
// standard error is an interval that holds nothing else than itself.
func (c *inside) add(hip int, err, se float64) {
	if len(c.n) == 0 || c.last != hip {
		c.n, c.held, c.last = append(c.n, 0), append(c.held, 0), hip
	}
	i := len(c.n) - 1
	c.n[i]++
	if math.Abs(err) <= 1.96*se {
		c.held[i]++
	}
}

// Coverage is the share of intervals that held the truth, and the 95 % range of
// that share.
type Coverage struct {
	Of   string  `json:"of"`
	N    int     `json:"n"`
	Held float64 `json:"held"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	// Off says that the range excludes 93 to 97 %.
	Off bool `json:"off"`
}

// share returns the share held. Its range is that of Clopper and Pearson
// (Biometrika 1934;26:404-413) for the number of independent cases that would
// scatter as much from hip to hip: the cases over their design effect (Kish L.
// Survey Sampling. 1965), which is not let below one.
func (c inside) share(of string) Coverage {
	var n, held float64
	for i := range c.n {
		n, held = n+c.n[i], held+c.held[i]
	}
	s := Coverage{Of: of, N: int(n)}
	if n == 0 {
		return s
	}
	s.Held = held / n
	effect := 1.0
	if k := float64(len(c.n)); k > 1 && s.Held > 0 && s.Held < 1 {
		var squares float64
		for i := range c.n {
			d := c.held[i] - s.Held*c.n[i]
			squares += d * d
		}
		effect = max(1, squares*k/(k-1)/(n*s.Held*(1-s.Held)))
	}
	s.Low, s.High = binomialRange(held/effect, n/effect)
	s.Off = s.Low > mostHeld || s.High < leastHeld
	return s
}

// binomialRange is the 95 % range of a share of which k in n were seen.
func binomialRange(k, n float64) (low, high float64) {
	low, high = 0, 1
	if k > 0 {
		low = distuv.Beta{Alpha: k, Beta: n - k + 1}.Quantile(0.025)
	}
	if k < n {
		high = distuv.Beta{Alpha: k + 1, Beta: n - k}.Quantile(0.975)
	}
	return low, high
}
