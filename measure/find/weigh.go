package find

import (
	"slices"

	"linerwatch/measure"
)

// weighFloor is the standard deviation that neighbouring edges have in common,
// px, below which less noise counts no more.
const weighFloor = 0.2

// weights returns what each edge counts, with mean one over the kept ones: the
// inverse of the variance that noise gives its place, so that the parts of an
// outline that show count, and those that noise or metal hides hardly.
func weights(edges []measure.Edge) []float64 {
	w := make([]float64, len(edges))
	var sum, kept float64
	for i, e := range edges {
		if e.Reject == "" {
			w[i] = 1 / (e.SD*e.SD + weighFloor*weighFloor)
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
func fitHead(edges []measure.Edge, c measure.Circle, reach float64) (measure.CircleFit, []measure.Edge, error) {
	sure := slices.Clone(edges)
	for i := range sure {
		if sure[i].Reject == "" && sure[i].SD > vague*reach {
			sure[i].Reject = rejectNone
		}
	}
	if fit, err := fitEdges(sure, c); err == nil && fit.Arc >= leastArc {
		return fit, sure, nil
	}
	fit, err := fitEdges(edges, c)
	return fit, edges, err
}
