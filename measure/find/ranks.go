package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// ranks are the falls of the grey level on the profiles across a circle, one a
// sector, from how far from its centre on, px, and how far an edge may lie from its place.
type ranks struct {
	rays       []film.Ray
	inner, tol float64
}

// rankTol is how far from a circle its edge may lie, as a share of the radius: the
// clearance between ball and sphere and what projection does are less. rankReach is how
// far to either side it is compared, so: to the next outline, of the head from the cup and
// of the cup from the head. Both tried by .ci/vary.
const (
	rankTol   = 0.012
	rankReach = 0.25
)

// ranksOf looks across c as far as a quarter of its radius; an outline that is as many
// times as rough as the film's blur, over as many more profiles.
func ranksOf(p *film.Patch, c measure.Circle, rough int) ranks {
	reach, wide := rankReach*c.R, float64(rough)
	q := ranks{inner: max(1, c.R-reach), tol: wide * max(1, rankTol*c.R)}
	s := film.Scan{Center: c.Center(), Inner: q.inner, Outer: c.R + reach, N: sectors, Across: 2*rough - 1, Sigma: wide * film.Smoothing(c.R)}
	q.rays = s.Run(p)
	return q
}

// at compares, in each sector, the fall of the grey level r px from the centre with
// those inside and outside of it.
func (q *ranks) at(r float64) (o odds) {
	for i, ray := range q.rays {
		if o[i] = 1; ray.To >= r+q.tol { // where the film ends soon after, less is compared
			rank, there := rankNear(ray.Falls, r, q.tol)
			o[i] = likelihood(rank, 2*q.tol/(ray.To-q.inner), there)
		}
	}
	return o
}

// rankNear returns the rank of the strongest of some falls within tol px of a place,
// and whether there is one.
func rankNear(falls []film.Fall, at, tol float64) (rank float64, there bool) {
	var best float64
	for _, f := range falls {
		if math.Abs(f.At-at) <= tol {
			best = max(best, f.Strength)
		}
	}
	for _, f := range falls {
		if f.Strength >= best {
			rank++
		}
	}
	return rank, best > 0
}
