package find

import "math"

// Why a pair is not taken.
const (
	noHead      = "no hip prosthesis: no ball of the head's size stands out"
	noCup       = "a round outline of the head's size without a cup around it"
	chanceHead  = "a head that a shell may show by chance"
	chanceCup   = "a ball about which the film may show a cup by chance"
	anotherHead = "a head of another size, or at another place, shows more"
	noFit       = "no outline to fit"
	lessLikely  = "less likely than what was taken"
)

// tail is the law by which what speaks for an outline exceeds a value on films without
// one: exponential, as extremes of a sum over many places are.
type tail struct{ from, scale float64 }

// chance returns the share of films that show as much by chance.
func (t tail) chance(sure float64) float64 { return math.Exp(-max(0, sure-t.from) / t.scale) }

// What speaks for a cup about a ball of metal on films of native hips, over the femoral
// head on every other one, and for a ball in a shell that is of another size than its
// head: printed by
//
//	go test ./measure/find -run LearnAlarms -learn 48 -v
var (
	cupByChance  = tail{from: 22.7, scale: 17.8}
	headByChance = tail{from: 32.2, scale: 7.0}
)

// A pair is taken where the film would show its cup about any ball on one film in 30 at
// most, and its head in any shell: balls and shells alone are on a film in 30 at most
// (common practice, no source), so there is one false alarm in a thousand films.
const mostChance = 1. / 30

// alarms returns how many pairs like p films show that have none, per film.
func (p pair) alarms() float64 {
	return mostChance * max(cupByChance.chance(p.cup.sure()), headByChance.chance(p.head.sure()))
}

// doubt says why a pair is not taken, or nothing.
func (s *search) doubt(p pair) string {
	switch {
	case cupByChance.chance(p.cup.sure()) > mostChance:
		return chanceCup
	case headByChance.chance(p.head.sure()) > mostChance:
		return chanceHead
	}
	if b, ok := s.insideOf(p.cup.Circle, smallest*p.head.R, largest*p.head.R); ok && s.apart(b, p.head) && b.sure() > p.head.sure() {
		return anotherHead
	}
	return ""
}

// Radii of heads of other sizes, as shares of the one that was asked for: from 22 mm for
// 44 to 44 for 22, which are in use (ISO 7206-2, from memory).
const (
	smallest = 0.5
	largest  = 2.0
)
