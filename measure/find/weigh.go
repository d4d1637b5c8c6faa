package find

import (
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// weighFloor is the standard deviation that neighbouring edges have in common,
// px, below which less noise counts no more.
const weighFloor = 0.2

// leastScatter is the least scatter of edges, in units of weighFloor.
const leastScatter = 0.25

// weights returns the inverse of the variance that noise and what neighbours have
// in common gives the place of each kept edge, so that the parts of an outline that
// show count, and those that noise or metal hides hardly.
func weights(edges []measure.Edge) []float64 {
	w := make([]float64, len(edges))
	for i, e := range edges {
		if e.Reject == "" {
			w[i] = 1 / (e.SD*e.SD + weighFloor*weighFloor)
		}
	}
	return w
}

// vague is the standard deviation of an edge, as a share of the reach, beyond
// which noise may have put it anywhere.
const vague = 0.3

// sure returns the edges without those that noise may have put anywhere, or all
// where too little of the outline would be left.
func sure(edges []measure.Edge, c measure.Circle, reach float64) []measure.Edge {
	few := slices.Clone(edges)
	points := make([]measure.Point, 0, len(few))
	for i, e := range few {
		if e.Reject == "" && e.SD > vague*reach {
			few[i].Reject = rejectNone
		} else if e.Reject == "" {
			points = append(points, e.Point)
		}
	}
	if arc, err := c.Arc(points, nil); err == nil && arc >= leastArc {
		return few
	}
	return edges
}

// anywhere is the scatter of edges as a share of the reach, by their median distance
// from their median, at which noise and not an outline places them: half of that of
// places drawn evenly, 1.4826/2.
const anywhere = 0.37

// scattered sets SD of the edges that noise places although each seems to stand out
// of it, as the strongest of many falls does, to their scatter. It looks at so many
// neighbours on either side.
func scattered(edges []measure.Edge, c measure.Circle, reach float64, half int) {
	n := len(edges)
	d := make([]float64, n)
	for i, e := range edges {
		d[i] = c.Distance(e.Point)
	}
	room := make([]float64, 0, 2*half+1)
	const together = 4 // edges that are told alike
	for first := 0; first < n; first += together {
		room = room[:0]
		for j := first + together/2 - half; j <= first+together/2+half; j++ {
			if k := (j + n) % n; edges[k].Reject == "" {
				room = append(room, d[k])
			}
		}
		m := film.Median(room)
		for k, v := range room {
			room[k] = math.Abs(v - m)
		}
		if s := 1.4826 * film.Median(room); s > anywhere*reach {
			for i := first; i < min(first+together, n); i++ {
				edges[i].SD = max(s, edges[i].SD)
			}
		}
	}
}
