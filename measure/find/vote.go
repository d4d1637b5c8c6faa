package find

import (
	"cmp"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// candidate is a place where gradient directions meet.
type candidate struct {
	measure.Circle // px of the shrunken film
	votes          float64
}

// vote lets each steep place of p vote for the centres of bright discs of
// radius inner to outer px whose edge it could be (Kimme, Ballard & Sklansky
// 1975), and returns the strongest places, strongest first.
func vote(p *film.Patch, inner, outer float64, most int) []candidate {
	limit := steepness(p)
	if limit == 0 {
		return nil
	}
	votes := film.Patch{W: p.W, H: p.H, V: make([]float32, len(p.V))}
	for y := 1; y+1 < p.H; y++ {
		for x := 1; x+1 < p.W; x++ {
			gx, gy := p.SlopeAt(x, y)
			g := math.Sqrt(gx*gx + gy*gy)
			if g < 0.5*limit {
				continue
			}
			w := float32(min(1, g/(2*limit)))
			for r := inner; r <= outer; r++ {
				i, j := int(float64(x)+0.5+r*gx/g), int(float64(y)+0.5+r*gy/g)
				if i >= 0 && j >= 0 && i < p.W && j < p.H {
					votes.V[j*p.W+i] += w
				}
			}
		}
	}
	votes.Smooth()
	votes.Smooth()
	return tops(p, &votes, inner, outer, most)
}

// steepness returns the slope that one in twenty pixels of p exceeds.
func steepness(p *film.Patch) float64 {
	var all []float64
	for y := 1; y+1 < p.H; y += 2 {
		for x := 1 + y/2%2; x+1 < p.W; x += 2 {
			gx, gy := p.SlopeAt(x, y)
			all = append(all, gx*gx+gy*gy)
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return math.Sqrt(all[len(all)*19/20])
}

// tops returns the highest places of votes that are at least inner apart.
func tops(p, votes *film.Patch, inner, outer float64, most int) (found []candidate) {
	var all []candidate
	for y := 1; y+1 < votes.H; y++ {
		for x := 1; x+1 < votes.W; x++ {
			i := y*votes.W + x
			v := votes.V[i]
			if v > 0 && v >= votes.V[i-1] && v > votes.V[i+1] && v >= votes.V[i-votes.W] && v > votes.V[i+votes.W] {
				all = append(all, candidate{measure.Circle{X: float64(x) + 0.5, Y: float64(y) + 0.5, R: 0}, float64(v)})
			}
		}
	}
	slices.SortFunc(all, func(a, b candidate) int { return cmp.Compare(b.votes, a.votes) })
	for _, c := range all {
		near := func(f candidate) bool { return math.Hypot(f.X-c.X, f.Y-c.Y) < 0.5*inner }
		if slices.ContainsFunc(found, near) {
			continue
		}
		c.R = radiusAt(p, c.Center(), inner, outer)
		if found = append(found, c); len(found) == most {
			break
		}
	}
	return found
}

// radiusAt returns the radius from inner to outer at which the mean grey level
// around c falls fastest.
func radiusAt(p *film.Patch, c measure.Point, inner, outer float64) float64 {
	ring := func(r float64) (mean float64) {
		var n float64
		for i := range 48 {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 48)
			if v, ok := p.At(c.X+r*cos, c.Y+r*sin); ok {
				mean += v
				n++
			}
		}
		return mean / max(1, n)
	}
	best, most := inner, 0.0
	for r := inner; r <= outer; r += 0.5 {
		if fall := ring(r-1) - ring(r+1); fall > most {
			best, most = r, fall
		}
	}
	return best
}
