package measure

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

// top returns the level at which p saturates: its largest, where more than one
// pixel in 500 has it, else infinity.
func (p *patch) top() float64 {
	if p.most == nil {
		most := p.saturation()
		p.most = &most
	}
	return *p.most
}

func (p *patch) saturation() float64 {
	var most float32
	n := 0
	for _, v := range p.v {
		if v > most {
			most, n = v, 0
		}
		if v == most {
			n++
		}
	}
	if n*500 < len(p.v) {
		return math.Inf(1)
	}
	return float64(most)
}

// roughness returns the standard deviation of a pixel's noise, in levels, some px
// outside the edges of c that are kept, from second differences along the rows.
func (p *patch) roughness(c Circle, edges []Edge, from, to float64) float64 {
	all := make([]float64, 0, len(edges)*max(1, int(to-from)+1))
	for i := range edges {
		if edges[i].Reject != "" {
			continue
		}
		sin, cos := math.Sincos(edges[i].Angle * math.Pi / 180)
		for d := from; d <= to; d++ {
			x, y := int(c.X+(c.R+d)*cos)-p.x0, int(c.Y+(c.R+d)*sin)-p.y0
			if x < 1 || y < 0 || x+1 >= p.w || y >= p.h {
				continue
			}
			v := p.v[y*p.w+x-1 : y*p.w+x+2]
			all = append(all, math.Abs(float64(v[0]-2*v[1]+v[2])))
		}
	}
	return 1.4826 * median(all) / math.Sqrt(6)
}

// noiseGain sets how much noise is averaged: profiles as noisy as an eighth
// of their step have a neighbour on either side in their mean.
const noiseGain = 12

// mostAround is the most that a profile is averaged to either side, radians.
const mostAround = 0.09

// around returns how many profiles to either side of one make up their mean on
// a film as noisy as p is around the kept edges of c.
func (p *patch) around(c Circle, edges []Edge, sigma float64) int {
	steps := make([]float64, 0, len(edges))
	for i := range edges {
		if edges[i].Reject != "" {
			continue
		}
		sin, cos := math.Sincos(edges[i].Angle * math.Pi / 180)
		in, ok := p.at(c.X+(c.R-3*sigma)*cos, c.Y+(c.R-3*sigma)*sin)
		out, ok2 := p.at(c.X+(c.R+3*sigma)*cos, c.Y+(c.R+3*sigma)*sin)
		if ok && ok2 {
			steps = append(steps, in-out)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	upper := smallest(steps, 3*len(steps)/4)
	noise := noiseGain * p.roughness(c, edges, 2*sigma, 4*sigma+1) / upper
	if !(noise >= 0) {
		return 0
	}
	return int(min(noise*noise/2, mostAround*c.R))
}

// grain returns the standard deviation of a pixel's noise, in levels, at the log
// intensity y: that of photons, whose relative noise goes as the root of their
// number.
func (k *calibration) grain(y float64) float64 {
	return k.photons * k.slope(y) * math.Exp(-y/2)
}
