package measure

import "math"

// weighFloor is the standard deviation that neighbouring edges have in common,
// px, below which less scatter counts no more.
const weighFloor = 0.2

// weights returns what each edge counts, with mean one over the kept ones: the
// inverse of the variance of the edges around it. Parts of an outline that noise
// or clipping leaves hardly visible scatter more.
func weights(edges []Edge) []float64 {
	w := rough(edges)
	var sum, kept float64
	for i, sd := range w {
		if w[i] = 0; edges[i].Reject == "" {
			w[i] = 1 / (sd*sd + weighFloor*weighFloor)
			sum += w[i]
			kept++
		}
	}
	for i := range w {
		w[i] *= kept / sum
	}
	return w
}

// rough returns the standard deviation of the kept edges within 7.5 degrees of
// each, or of one up to 2 degrees before it, from their differences.
func rough(edges []Edge) []float64 {
	n := len(edges)
	half := max(2, n/48)
	sd := make([]float64, n)
	near := make([]float64, 0, 2*half)
	stride := max(1, half/4)
	for i := range edges {
		if i%stride != 0 {
			sd[i] = sd[i-1]
			continue
		}
		near = near[:0]
		for j := i - half; j < i+half; j++ {
			a, b := &edges[(j+n)%n], &edges[(j+1+n)%n]
			if a.Reject == "" && b.Reject == "" {
				near = append(near, math.Abs(a.Residual-b.Residual))
			}
		}
		sd[i] = 1.4826 * median(near) / math.Sqrt2
	}
	return sd
}

// vague is the scatter, as a share of the reach, beyond which an edge is none; it
// would be 0.58 for edges found anywhere.
const vague = 0.4

// dropVague rejects the edges that scatter among their neighbours nearly as if
// each was anywhere within reach: there is none.
func dropVague(edges []Edge, reach float64) {
	for i, sd := range rough(edges) {
		if edges[i].Reject == "" && sd > vague*reach {
			edges[i].Reject = rejectNone
		}
	}
}
