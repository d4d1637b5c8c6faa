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
	measure.Circle // px of the film
	votes          float32
}

// steep is a place where the grey level rises steeply.
type steep struct {
	x, y   float32 // px of the shrunken film
	ux, uy float32 // unit vector to where the film grows brighter
	weight float32
}

// steepOf returns the places of p that are at least half as steep as one pixel in
// twenty is.
func steepOf(p *film.Patch) (all []steep) {
	limit := steepness(p)
	if limit == 0 {
		return nil
	}
	for y := 1; y+1 < p.H; y++ {
		for x := 1; x+1 < p.W; x++ {
			gx, gy := p.SlopeAt(x, y)
			square := gx*gx + gy*gy
			if square < 0.25*limit*limit {
				continue
			}
			g := math.Sqrt(square)
			all = append(all, steep{float32(x) + 0.5, float32(y) + 0.5, float32(gx / g), float32(gy / g), float32(min(1, g/(2*limit)))})
		}
	}
	return all
}

// steepness returns the slope that one in twenty pixels of p exceeds.
func steepness(p *film.Patch) float64 {
	all := make([]float64, 0, len(p.V)/4)
	for y := 1; y+1 < p.H; y += 2 {
		for x := 1 + y/2%2; x+1 < p.W; x += 2 {
			gx, gy := p.SlopeAt(x, y)
			all = append(all, gx*gx+gy*gy)
		}
	}
	if len(all) == 0 {
		return 0
	}
	return math.Sqrt(film.Smallest(all, len(all)*19/20))
}

// vote lets each steep place vote for the centres of bright discs of radius inner to
// outer px of the film whose edge it could be (Kimme, Ballard & Sklansky 1975), and
// returns the strongest places, strongest first.
func (s *search) vote(inner, outer float64, most int) []candidate {
	inner, outer = inner/s.k, outer/s.k
	p := &s.small
	votes := film.Patch{W: p.W, H: p.H, V: make([]float32, len(p.V))}
	for _, e := range s.steep {
		for r := float32(inner); r <= float32(outer); r++ {
			i, j := int(e.x+r*e.ux), int(e.y+r*e.uy)
			if i >= 0 && j >= 0 && i < p.W && j < p.H {
				votes.V[j*p.W+i] += e.weight
			}
		}
	}
	votes.Smooth()
	votes.Smooth()
	found := tops(&votes, 0.5*inner, most)
	for i := range found {
		c := &found[i]
		c.R = radiusAt(p, c.Center(), inner, outer)
		c.X, c.Y, c.R = c.X*s.k, c.Y*s.k, c.R*s.k
	}
	return found
}

// tops returns the highest places of votes that are at least so far apart.
func tops(votes *film.Patch, apart float64, most int) (found []candidate) {
	var all []candidate
	for y := 1; y+1 < votes.H; y++ {
		for x := 1; x+1 < votes.W; x++ {
			i := y*votes.W + x
			v := votes.V[i]
			if v > 0 && v >= votes.V[i-1] && v > votes.V[i+1] && v >= votes.V[i-votes.W] && v > votes.V[i+votes.W] {
				all = append(all, candidate{measure.Circle{X: float64(x) + 0.5, Y: float64(y) + 0.5}, v})
			}
		}
	}
	for len(found) < most && len(all) > 0 {
		best := slices.MaxFunc(all, func(a, b candidate) int { return cmp.Compare(a.votes, b.votes) })
		found = append(found, best)
		all = slices.DeleteFunc(all, func(c candidate) bool { return c.Center().Distance(best.Center()) < apart })
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
