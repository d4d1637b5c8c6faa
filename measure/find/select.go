package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// pick chooses one edge per ray: the strongest fall within reach px of c. A ray
// without one gets a place on c with the reason.
func pick(rays []film.Ray, center measure.Point, c measure.Circle, reach float64) []measure.Edge {
	strength := typical(rays, center, c, reach)
	edges := make([]measure.Edge, len(rays))
	for i, r := range rays {
		e := &edges[i]
		best, found := film.Fall{At: c.R}, false
		other := false
		for _, f := range r.Falls {
			if f.Strength < 0.2*strength {
				continue
			}
			if math.Abs(c.Distance(r.Point(center, f.At))) > reach {
				other = other || f.Strength > 0.5*strength
				continue
			}
			if !found || f.Strength > best.Strength {
				best, found = f, true
			}
		}
		e.Point = r.Point(center, best.At)
		e.Strength = best.Strength
		e.Angle = 360 * float64(i) / float64(len(rays))
		switch {
		case found:
		case r.Off:
			e.Reject = rejectOff
		case other:
			e.Reject = rejectOther
		default:
			e.Reject = rejectNone
		}
	}
	return edges
}

// typical returns the median over the rays of the strongest fall within reach.
func typical(rays []film.Ray, center measure.Point, c measure.Circle, reach float64) float64 {
	strength := make([]float64, 0, len(rays))
	for _, r := range rays {
		var most float64
		for _, f := range r.Falls {
			if f.Strength > most && math.Abs(c.Distance(r.Point(center, f.At))) <= reach {
				most = f.Strength
			}
		}
		if most > 0 {
			strength = append(strength, most)
		}
	}
	return film.Median(strength)
}

// sectors is the number of directions in which an outline is weighed.
const sectors = 96

// sectorOf returns the sector of edge i of n.
func sectorOf(i, n int) int { return (i*sectors + n/2) / n % sectors }

// only rejects the edges in sectors that do not count; nil counts all.
func only(edges []measure.Edge, counts *[sectors]bool) []measure.Edge {
	for i := range edges {
		if counts != nil && edges[i].Reject == "" && !counts[sectorOf(i, len(edges))] {
			edges[i].Reject = rejectOther
		}
	}
	return edges
}
