package find

import (
	"cmp"
	"context"
	"math"
	"slices"

	"linerwatch/measure"
)

// pair is a head with its cup.
type pair struct {
	head ball
	cup  bowl
}

func (p pair) sure() float64 { return p.head.sure() + p.cup.sure() }

// owns reports whether a place is too near a pair for it to be another's: the
// centres of two hips lie 140 mm apart or more (common practice, no source), five
// radii of a cup, and the stem between.
func (p pair) owns(q measure.Point) bool { return p.cup.Center().Distance(q) < 3*p.cup.R }

const ( // tried by .ci/vary
	mostHeads = 6   // looked around for a cup
	clearHead = 180 // what a head in sight comes to; else shells may hide one
)

// mostCup is what a cup comes to at most: half a turn of odds, and of metal inside.
var mostCup = sectors/2*math.Log(likelihood(1, rankTol/rankReach, true)) + mostBody

// pairs returns heads with their cups, the likeliest first, and all that may be heads:
// heads and cups compete together, since a cup may tell that what was taken for its
// head is not, and a head that what was taken for a cup is the bone around it.
func (s *search) pairs(ctx context.Context) (all []pair, heads []ball, err error) {
	heads = s.balls()
	var tried []ball
	hidden := false // were heads that shells hide looked for?
	for len(tried) < mostHeads {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		i := slices.IndexFunc(heads, func(h ball) bool { return s.worth(h, tried, all) })
		if !hidden && (i < 0 || heads[i].sure() < clearHead) {
			hidden = true
			heads = append(heads, s.hidden(all)...)
			slices.SortFunc(heads, likelier)
			continue
		}
		if i < 0 {
			break
		}
		h := heads[i]
		tried = append(tried, h)
		for k, c := range s.bowls(h) {
			if k == 0 && c.sure() >= cupByChance.limit(mostAlarms/oneAlone) { // another head may show inside it
				var in ball
				if in, c.other = s.inside(c.Circle); in.sure() > h.sure() {
					heads = append(heads, in)
				}
			}
			if h.Center().Distance(c.Center()) <= c.R-h.R {
				all = append(all, pair{h, c})
			}
		}
		slices.SortFunc(heads, likelier)
	}
	slices.SortStableFunc(all, func(a, b pair) int { return cmp.Compare(b.sure(), a.sure()) })
	return all, heads, nil
}

// worth reports whether a head is still to be looked around: it has the size that was
// asked for and shows enough, is none of those that were, and may make a likelier pair
// than is known there.
func (s *search) worth(h ball, tried []ball, all []pair) bool {
	return s.fits(h) && h.sure() >= headByChance.limit(mostAlarms/oneAlone) &&
		!slices.ContainsFunc(tried, func(t ball) bool { return !s.apart(t, h) }) &&
		!s.taken(h.Center(), h.sure()+mostCup, all)
}

// taken reports whether a place is too near a pair that convinces, and is likelier than that.
func (s *search) taken(at measure.Point, sure float64, all []pair) bool {
	return slices.ContainsFunc(all, func(p pair) bool { return p.sure() > sure && p.owns(at) && s.doubt(p) == "" })
}
