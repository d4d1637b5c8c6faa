package measure

import (
	"math"
	"slices"
)

// weighFloor is the standard deviation that neighbouring edges have in common,
// px, below which less noise counts no more.
const weighFloor = 0.2

// weights returns what each edge counts, with mean one over the kept ones: the
// inverse of the variance that noise gives its place, so that the parts of an
// outline that show count, and those that noise or metal hides hardly.
func weights(edges []Edge) []float64 {
	w := make([]float64, len(edges))
	var sum, kept float64
	for i, e := range edges {
		if e.Reject == "" {
			w[i] = 1 / (e.sd*e.sd + weighFloor*weighFloor)
			sum += w[i]
			kept++
		}
	}
	for i := range w {
		w[i] *= kept / sum
	}
	return w
}

// vague is the standard deviation of an edge, as a share of the reach, beyond
// which noise may have put it anywhere.
const vague = 0.3

// fitHead is fitEdges for a head, without the edges that noise may have put
// anywhere, or with them where too little of the outline would be left. It returns
// the edges it marked.
func fitHead(edges []Edge, c Circle, reach float64) (CircleFit, []Edge, error) {
	sure := slices.Clone(edges)
	for i := range sure {
		if sure[i].Reject == "" && sure[i].sd > vague*reach {
			sure[i].Reject = rejectNone
		}
	}
	if fit, err := fitEdges(sure, c); err == nil && fit.Arc >= leastArc {
		return fit, sure, nil
	}
	fit, err := fitEdges(edges, c)
	return fit, edges, err
}

// slopeNoise is the standard deviation of the place of an edge that falls by one
// level per px, for a pixel's noise of one level, times sigma to the 5/2 over the
// variance of the blurred edge: sqrt(3 / (8 sqrt(pi))) for a line, less what
// interpolation between pixels averages, from phantom films.
const slopeNoise = 0.2

// expect sets what noise does to the place of each edge that a scan with a
// Gaussian of sigma finds, for the noise of p just outside it (Canny JF. IEEE
// Transactions on Pattern Analysis 1986;8:679-698, localisation).
func (p *patch) expect(edges []Edge, c Circle, around int, sigma, blur float64) {
	unit := slopeNoise * (sigma*sigma + blur*blur) / math.Pow(sigma, 2.5) / math.Sqrt(float64(2*around+1))
	const parts = 48
	n := len(edges)
	quiet := 0.25 * p.roughness(c, edges, 2*sigma, 2*sigma+6) // where levels are cut off
	for part := range parts {
		from, to := part*n/parts, (part+1)*n/parts
		noise := max(quiet, p.roughness(c, edges[from:to], 2*sigma, 2*sigma+6))
		for i := from; i < to; i++ {
			if edges[i].strength > 0 {
				edges[i].sd = unit * noise / edges[i].strength
			}
		}
	}
}

// overNoise returns the share of the profiles that have a kept edge of which noise
// tells the place, and the root mean square of their residuals in standard
// deviations of noise and of what the scale of the filter leaves.
func (o Outline) overNoise() (share, scatter float64) {
	sigma, n := smoothing(o.R), 0
	for _, e := range o.Edges {
		if e.Reject == "" && e.strength > 0 && e.sd < vague*lookReach*sigma {
			n++
			scatter += e.Residual * e.Residual / (e.sd*e.sd + weighFloor*weighFloor*sigma*sigma)
		}
	}
	return float64(n) / float64(max(1, len(o.Edges))), math.Sqrt(scatter / float64(max(1, n)))
}
