package film

import (
	"math"

	"linerwatch/measure"
)

// Roughness returns the standard deviation of a pixel's noise, in levels, some px
// outside the edges of c that are kept, from second differences along the rows.
func (p *Patch) Roughness(c measure.Circle, edges []measure.Edge, from, to float64) float64 {
	all := make([]float64, 0, len(edges)*max(1, int(to-from)+1))
	for i := range edges {
		if edges[i].Reject != "" {
			continue
		}
		sin, cos := math.Sincos(edges[i].Angle * math.Pi / 180)
		for d := from; d <= to; d++ {
			x, y := int(c.X+(c.R+d)*cos)-p.X0, int(c.Y+(c.R+d)*sin)-p.Y0
			if x < 1 || y < 0 || x+1 >= p.W || y >= p.H {
				continue
			}
			v := p.V[y*p.W+x-1 : y*p.W+x+2]
			all = append(all, math.Abs(float64(v[0]-2*v[1]+v[2])))
		}
	}
	return 1.4826 * Median(all) / math.Sqrt(6)
}

// noiseGain sets how much noise is averaged: profiles as noisy as an eighth
// of their step have a neighbour on either side in their mean; tried by .ci/vary.
const noiseGain = 12

// mostAround is the most that a profile is averaged to either side, radians: a third of a
// block of edges that err together; tried by .ci/vary.
const mostAround = 0.09

// Around returns how many profiles to either side of one make up their mean on
// a film as noisy as p is around the kept edges of c.
func (p *Patch) Around(c measure.Circle, edges []measure.Edge, sigma float64) int {
	steps := make([]float64, 0, len(edges))
	for i := range edges {
		if edges[i].Reject != "" {
			continue
		}
		sin, cos := math.Sincos(edges[i].Angle * math.Pi / 180)
		in, ok := p.At(c.X+(c.R-3*sigma)*cos, c.Y+(c.R-3*sigma)*sin)
		out, ok2 := p.At(c.X+(c.R+3*sigma)*cos, c.Y+(c.R+3*sigma)*sin)
		if ok && ok2 {
			steps = append(steps, in-out)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	upper := Smallest(steps, 3*len(steps)/4)
	noise := noiseGain * p.Roughness(c, edges, 2*sigma, 4*sigma+1) / upper
	if !(noise >= 0) {
		return 0
	}
	return int(min(noise*noise/2, mostAround*c.R))
}

// slopeNoise is the standard deviation of the place of an edge that falls by one
// level per px, for a pixel's noise of one level, times sigma to the 5/2 over the
// variance of the blurred edge: sqrt(3 / (8 sqrt(pi))) for a line, less what
// interpolation between pixels averages; tried by .ci/vary.
const slopeNoise = 0.2

// Expect sets what noise does to the place of each edge that a scan with a
// Gaussian of sigma finds, for the noise of p just outside it (Canny JF. IEEE
// Transactions on Pattern Analysis 1986;8:679-698, localisation).
func (p *Patch) Expect(edges []measure.Edge, c measure.Circle, around int, sigma, blur float64) {
	unit := slopeNoise * (sigma*sigma + blur*blur) / math.Pow(sigma, 2.5) / math.Sqrt(float64(2*around+1))
	const parts = 48 // of the outline, each with its own noise
	n := len(edges)
	quiet := 0.25 * p.Roughness(c, edges, 2*sigma, 2*sigma+6) // where levels are cut off
	for part := range parts {
		from, to := part*n/parts, (part+1)*n/parts
		noise := max(quiet, p.Roughness(c, edges[from:to], 2*sigma, 2*sigma+6))
		for i := from; i < to; i++ {
			if edges[i].Strength > 0 {
				edges[i].SD = unit * noise / edges[i].Strength
			}
		}
	}
}
