package film

import "math"

// below returns the mean of a noisy value that is cut off at a limit, for the
// value's mean and standard deviation without the limit, and its derivative by
// that mean (Tobin J. Econometrica 1958;26:24-36).
func below(mean, limit, sd float64) (cut, pass float64) {
	d := limit - mean
	if !(sd > 0) || math.Abs(d) > 6*sd {
		if d > 0 {
			return mean, 1
		}
		return limit, 0
	}
	z := d / sd
	pass = math.Erfc(-z/math.Sqrt2) / 2
	return mean*pass + limit*(1-pass) - sd*math.Exp(-z*z/2)/math.Sqrt(2*math.Pi), pass
}

// Top returns the level at which p saturates: its largest, where more than one
// pixel in 500 has it, else infinity.
func (p *Patch) Top() float64 {
	if p.most != nil {
		return *p.most
	}
	var most float32
	n := 0
	for _, v := range p.V {
		if v > most {
			most, n = v, 0
		}
		if v == most {
			n++
		}
	}
	top := float64(most)
	if n*500 < len(p.V) {
		top = math.Inf(1)
	}
	p.most = &top
	return top
}
