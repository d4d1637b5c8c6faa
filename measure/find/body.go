package find

import (
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// bodyPower is that of the law of pairs: where metal bounds on what is not metal, the
// first of two levels is the higher in a share of u or less of the pairs with
// probability u^(bodyPower+1): eight of nine on average; tried by .ci/vary.
const bodyPower = 7

// metalOdds returns how many times likelier the share of pairs is where metal lies
// inside of an outline than where not. In one sector of two the levels tell nothing: a
// lead letter or the edge of the field runs through.
func metalOdds(share float64) float64 {
	return 0.5*(bodyPower+1)*math.Pow(share, bodyPower) + 0.5
}

// past is how far from an outline its blur has ended, px: three scales of the slope filter.
func past(c measure.Circle) float64 { return 3 * film.Smoothing(c.R) }

// levelsAt appends the levels of a sector of the circle of radius r about c's centre to v;
// ok is false where it leaves p.
func levelsAt(p *film.Patch, c measure.Circle, sector int, r float64, v []float64) (levels []float64, ok bool) {
	sin, cos := direction(sector)
	half := int(math.Pi * c.R / sectors)
	for k := -half; k <= half; k++ {
		x, on := p.At(c.X+r*cos-float64(k)*sin, c.Y+r*sin+float64(k)*cos)
		if !on {
			return v, false
		}
		v = append(v, x)
	}
	return v, true
}

// inOver returns the share of the pairs of levels of a sector inside and outside of c
// of which the inner is the higher: of what lies from c inwards to far px from its
// centre the darkest wide px count. ok is false off the film.
func inOver(p *film.Patch, c measure.Circle, sector int, far, wide float64) (share float64, ok bool) {
	var room [3][128]float64
	gap := past(c)
	out, ok := room[0][:0], true
	for r := c.R + gap; r <= c.R+3*gap; r++ {
		if out, ok = levelsAt(p, c, sector, r, out); !ok {
			return 0, false
		}
	}
	slices.Sort(out)
	// From row to row inwards, the last so many of which are wide px.
	rows, count := room[2][:0], int(wide)+1
	var sum float64
	share = 2
	for r := c.R - gap - wide + float64(count-1); r >= far-1e-6; r-- { // but for rounding
		in, on := levelsAt(p, c, sector, r, room[1][:0])
		if !on {
			break
		}
		rows = append(rows, exceeds(in, out))
		sum += rows[len(rows)-1]
		if n := len(rows) - count; n >= 0 {
			share = min(share, sum/float64(count))
			sum -= rows[n]
		}
	}
	return share, share <= 1
}

// exceeds returns the share of pairs of levels and sorted levels of which the first is the
// higher, those that are equal by half (Mann HB, Whitney DR. Ann Math Stat 1947;18:50-60).
func exceeds(in, out []float64) (share float64) {
	for _, v := range in {
		lower, _ := slices.BinarySearch(out, v)
		equal := lower
		for equal < len(out) && out[equal] == v {
			equal++
		}
		share += float64(lower+equal) / 2
	}
	return share / float64(len(in)*len(out))
}

// shows is the odds from which what lies inside and outside of an outline is compared;
// tried by .ci/vary.
const shows = 2

// ballBody returns the logarithm of the likelihood ratio that a circle bounds a ball,
// from the sectors in which its outline shows.
func ballBody(p *film.Patch, c measure.Circle, o *odds) (sum float64) {
	gap := past(c)
	for i := range o {
		if o[i] < shows {
			continue
		}
		if share, ok := inOver(p, c, i, c.R-3*gap, 2*gap); ok {
			sum += math.Log(metalOdds(share))
		}
	}
	return sum
}

// mostBody is what the body of a shell comes to at most: half a turn of metalOdds of one.
var mostBody = sectors / 2 * math.Log(metalOdds(1))

// shellBody returns the logarithm of the likelihood ratio that a circle bounds metal
// that covers all between it and the head, and is not the socket of a native hip: from
// the sectors of its dome, the first given, in which the outline shows.
func shellBody(p *film.Patch, c, head measure.Circle, o *odds, first int) float64 {
	gap := past(c)
	var sum float64
	for j := range sectors / 2 {
		i := (first + j) % sectors
		if o[i] < shows {
			continue
		}
		sin, cos := direction(i)
		far := c.R - gap
		for far > 0.6*c.R && head.Distance(measure.Point{X: c.X + far*cos, Y: c.Y + far*sin}) > gap {
			far--
		}
		if share, ok := inOver(p, c, i, far, gap); ok {
			sum += math.Log(metalOdds(share))
		}
	}
	return sum - socketLine(p, c, first)
}
