package measure

import "math"

// weighFloor is the standard deviation that neighbouring edges have in common,
// px, below which less scatter counts no more.
const weighFloor = 0.2

// weights returns what each edge counts, with mean one over the kept ones: the
// inverse of the variance of the edges around it. Parts of an outline that noise
// or clipping leaves hardly visible scatter more.
func weights(edges []Edge) []float64 {
	n := len(edges)
	half := max(2, n/48) // 7.5 degrees
	w := make([]float64, n)
	var near []float64
	var sum, kept float64
	for i := range edges {
		if edges[i].Reject != "" {
			continue
		}
		near = near[:0]
		for j := i - half; j < i+half; j++ {
			a, b := &edges[(j+n)%n], &edges[(j+1+n)%n]
			if a.Reject == "" && b.Reject == "" {
				near = append(near, math.Abs(a.Residual-b.Residual))
			}
		}
		sd := 1.4826 * median(near) / math.Sqrt2
		w[i] = 1 / (sd*sd + weighFloor*weighFloor)
		sum += w[i]
		kept++
	}
	for i := range w {
		w[i] *= kept / sum
	}
	return w
}
