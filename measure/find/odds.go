package find

import "math"

// odds are, by sector of an outline, how many times likelier what the film shows is if
// an outline runs there than if none does.
//
// What is compared is rank alone: the strength of what lies at the outline's place
// among all of its kind nearby. Where no outline runs every rank is as likely as the
// others, whatever the film's greys; this is the null model of a-contrario detection.
type odds [sectors]float64

// rankPower is that of the law of ranks: of an outline that shows, the share of film
// nearby on which there is something as strong is u or less with probability
// u^rankPower. A quarter means that it is the strongest of twenty in one sector of two;
// tried by .ci/vary.
const rankPower = 0.25

// likelihood returns how many times likelier the rank of what lies at an outline's
// place is if the outline shows there than if not. A place is the share tau of what is
// compared; where nothing lies there rank counts all that lies elsewhere.
func likelihood(rank, tau float64, there bool) float64 {
	law := func(k float64) float64 { return math.Pow(min(1, k*tau), rankPower) }
	if there {
		return (law(rank) - law(rank-1)) / tau
	}
	if left := 1 - rank*tau; left > 0.05 {
		return (1 - law(rank)) / left
	}
	return 1
}

// turnOver is the chance that an outline that shows no longer does in the next
// sector, and the other way round: it shows, or hides, on 45 degrees on end; tried by
// .ci/vary.
const turnOver = 1. / 12

// total returns the logarithm of the likelihood ratio of n sectors from first on,
// where the outline may be hidden on any part of its way: the forward sums of a
// chain of two states.
func (o *odds) total(first, n int) (sum float64) {
	shown, hidden, scale := 0.5, 0.5, 1.0
	for j := range n {
		shown, hidden = shown*(1-turnOver)+hidden*turnOver, hidden*(1-turnOver)+shown*turnOver
		shown *= o[(first+j)%sectors]
		if j%16 == 15 || j == n-1 { // before a float runs out
			all := shown + hidden
			scale *= all
			shown, hidden = shown/all, hidden/all
			sum += math.Log(scale)
			scale = 1
		}
	}
	return sum
}

func (o *odds) whole() float64 { return o.total(0, sectors) }

// dome returns the most that total comes to on half of the turn, and its first sector.
func (o *odds) dome() (most float64, first int) {
	for i := range sectors {
		if v := o.total(i, sectors/2); v > most {
			most, first = v, i
		}
	}
	return most, first
}
