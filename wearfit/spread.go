package wearfit

import "math"

// Spread is a standard deviation whose square is a sum of mean squares, each
// with its degrees of freedom.
type Spread struct {
	SD    float64
	parts []varied
}

// varied is a variance that is estimated with degrees of freedom; below zero it
// is one that is taken off.
type varied struct{ variance, df float64 }

func spreadOf(parts ...varied) Spread {
	s := Spread{}
	var sum float64
	for _, p := range parts {
		if p.variance != 0 {
			s.parts = append(s.parts, p)
			sum += p.variance
		}
	}
	s.SD = math.Sqrt(max(sum, 0))
	return s
}

// Limit is 1.96 sqrt(2) times the standard deviation, which two readings differ
// by less than in 95 % of cases (ISO 5725-6:1994): of the standard error of
// measurement the smallest detectable change.
func (s Spread) Limit() float64 { return limitsAt * math.Sqrt2 * s.SD }

// Interval returns the interval of the standard deviation by the modified
// large-sample method (Graybill FA, Wang CM. J Am Stat Assoc 1980;75:869-873),
// exact for a single mean square. Where some mean square is taken off, the same
// recovery of variances makes the interval (Zou GY, Donner A. Stat Med
// 2008;27:1693-1702).
func (s Spread) Interval(level float64) Interval {
	lo, hi := s.variance(level)
	return Interval{math.Sqrt(max(lo, 0)), math.Sqrt(max(hi, 0))}
}

// LimitInterval is that of Limit.
func (s Spread) LimitInterval(level float64) Interval {
	i := s.Interval(level)
	return Interval{limitsAt * math.Sqrt2 * i.Lo, limitsAt * math.Sqrt2 * i.Hi}
}

// variance returns the interval of the sum of the parts.
func (s Spread) variance(level float64) (lo, hi float64) {
	var sum, below, above float64
	for _, p := range s.parts {
		g, h := reach(p.df, (1+level)/2)
		if p.variance < 0 {
			g, h = h, g
		}
		below = math.Hypot(below, p.variance*g)
		above = math.Hypot(above, p.variance*h)
		sum += p.variance
	}
	return sum - below, sum + above
}
