package find

import (
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// pick chooses one edge per ray: the strongest fall within reach px of c. A ray
// without one gets a place on c with the reason.
func pick(rays []film.Ray, center measure.Point, c measure.Circle, reach float64) []measure.Edge {
	near := strongest(rays, func(r film.Ray, f film.Fall) bool { return math.Abs(c.Distance(r.Point(center, f.At))) <= reach })
	strength := film.Median(slices.DeleteFunc(near, func(v float64) bool { return v == 0 }))
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

// strongest returns, of each ray, the strength of its strongest fall of those that count;
// 0 where there is none.
func strongest(rays []film.Ray, counts func(film.Ray, film.Fall) bool) []float64 {
	most := make([]float64, len(rays))
	for i, r := range rays {
		for _, f := range r.Falls {
			if f.Strength > most[i] && counts(r, f) {
				most[i] = f.Strength
			}
		}
	}
	return most
}

// strong returns the upper quartile over the rays of their strongest fall.
func strong(rays []film.Ray) float64 {
	return film.Smallest(strongest(rays, func(film.Ray, film.Fall) bool { return true }), 3*len(rays)/4)
}

// dropAlone rejects kept edges of which fewer than half the neighbours within 4 degrees
// are kept: what a few of them near an outline follow is another.
func dropAlone(edges []measure.Edge) {
	n, half := len(edges), max(2, len(edges)*4/360)
	was := slices.Clone(edges)
	for i := range edges {
		kept := 0
		for j := i - half; j <= i+half; j++ {
			if was[(j+n)%n].Reject == "" {
				kept++
			}
		}
		if was[i].Reject == "" && kept <= half {
			edges[i].Reject = rejectOther
		}
	}
}

// sectors is the number of directions in which an outline is weighed: a millimetre of a
// head each; tried by .ci/vary.
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
