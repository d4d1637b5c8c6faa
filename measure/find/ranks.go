package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// ranks are the falls of the grey level on the profiles across a circle, one a
// sector, and how far from it, px, they were looked for.
type ranks struct {
	rays       []film.Ray
	reach, tol float64
}

// rankTol is how far from a circle its edge may lie, as a share of the radius: the
// clearance between ball and sphere and what projection does are less.
const rankTol = 0.012

// ranksOf looks across c as far as a quarter of its radius.
func ranksOf(p *film.Patch, c measure.Circle) ranks {
	q := ranks{reach: 0.25 * c.R, tol: max(1, rankTol*c.R)}
	s := film.Scan{Center: c.Center(), Inner: max(1, c.R-q.reach), Outer: c.R + q.reach, N: sectors, Across: 1, Sigma: film.Smoothing(c.R)}
	q.rays = s.Run(p)
	return q
}

// at compares, in each sector, the fall of the grey level r px from the centre with
// those inside and outside of it.
func (q *ranks) at(r float64) (o odds) {
	for i, ray := range q.rays {
		var best float64
		for _, f := range ray.Falls {
			if math.Abs(f.At-r) <= q.tol {
				best = max(best, f.Strength)
			}
		}
		var rank float64
		for _, f := range ray.Falls {
			if f.Strength >= best {
				rank++
			}
		}
		if o[i] = 1; !ray.Off {
			o[i] = likelihood(rank, q.tol/q.reach, best > 0)
		}
	}
	return o
}
