package find

import (
	"math"
	"math/rand/v2"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// consensus looks for the circle near a start on which most falls agree.
type consensus struct {
	start    measure.Circle
	shift    float64 // largest distance of the centre from the start's, px
	inner    float64 // smallest and largest radius, px
	outer    float64
	tol      float64 // distance at which a fall no longer counts, px
	strength float64 // fall that counts fully, grey levels per px
}

// spot is a candidate edge point in film coordinates.
type spot struct {
	measure.Point
	weight float64
}

// spots returns the falls of rays that are at least least strong, by ray.
func (c consensus) spots(rays []film.Ray, center measure.Point, least float64) [][]spot {
	all := make([][]spot, len(rays))
	for i, r := range rays {
		for _, f := range r.Falls {
			if f.Strength >= least {
				all[i] = append(all[i], spot{r.Point(center, f.At), math.Sqrt(min(1, f.Strength/c.strength))})
			}
		}
	}
	return all
}

// search draws triples of spots and returns the best circle through three of
// them and its score, the share of rays that agree. The draws are the same
// every time.
func (c consensus) search(spots [][]spot, draws int) (best measure.Circle, score float64) {
	rng := rand.New(rand.NewPCG(1, uint64(len(spots))))
	var filled []int
	for i, s := range spots {
		if len(s) > 0 {
			filled = append(filled, i)
		}
	}
	if len(filled) < 8 {
		return c.start, 0
	}
	draw := func() (int, measure.Point) {
		i := filled[rng.IntN(len(filled))]
		s := spots[i]
		k := rng.IntN(len(s))
		if l := rng.IntN(len(s)); s[l].weight > s[k].weight {
			k = l
		}
		return i, s[k].Point
	}
	apart := func(i, j int) bool {
		d := (i - j + len(spots)) % len(spots)
		return min(d, len(spots)-d)*12 >= len(spots) // 30 degrees
	}
	for range draws {
		i, p := draw()
		j, q := draw()
		k, r := draw()
		if !apart(i, j) || !apart(j, k) || !apart(i, k) {
			continue
		}
		circle, err := measure.CircleThrough([3]measure.Point{p, q, r})
		if err != nil || !c.allows(circle) {
			continue
		}
		if s := c.score(circle, spots, score); s > score {
			best, score = circle, s
		}
	}
	return best, score
}

func (c consensus) allows(k measure.Circle) bool {
	return k.R >= c.inner && k.R <= c.outer && math.Hypot(k.X-c.start.X, k.Y-c.start.Y) <= c.shift
}

// score is the mean over the rays of the best agreement of a spot with k, 0 once it
// cannot exceed least.
func (c consensus) score(k measure.Circle, spots [][]spot, least float64) float64 {
	share := 1 / float64(len(spots))
	// Spots between two circles count.
	inner, outer := max(0, k.R-c.tol), k.R+c.tol
	inner, outer = inner*inner, outer*outer
	var sum float64
	for i, ray := range spots {
		if (sum+float64(len(spots)-i))*share < least {
			return 0
		}
		var best float64
		for _, s := range ray {
			dx, dy := s.X-k.X, s.Y-k.Y
			square := dx*dx + dy*dy
			if square <= inner || square >= outer {
				continue
			}
			d := (math.Sqrt(square) - k.R) / c.tol
			best = max(best, s.weight*(1-d*d))
		}
		sum += best
	}
	return sum * share
}
