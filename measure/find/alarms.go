package find

import "math"

// Why a pair is not taken: codes of notes.
const (
	noHead      = "refusal.no-head"
	noCup       = "refusal.no-cup"
	chanceHead  = "refusal.head-by-chance"
	chanceCup   = "refusal.cup-by-chance"
	chancePair  = "refusal.pair-by-chance"
	anotherHead = "refusal.another-head"
	faintHead   = "refusal.faint-head"
	faintCup    = "refusal.faint-cup"
	lessLikely  = "refusal.less-likely"
)

// tail is the law by which what speaks for an outline exceeds a value on films without
// one: exponential, as extremes of a sum over many places are.
type tail struct{ from, scale float64 }

// chance returns the share of films that show as much by chance.
func (t tail) chance(sure float64) float64 { return math.Exp(-max(0, sure-t.from) / t.scale) }

// limit returns what a share of films exceeds by chance.
func (t tail) limit(chance float64) float64 { return t.from - t.scale*math.Log(chance) }

// as returns what is as rare on films without an outline as what other gives to sure.
func (t tail) as(other tail, sure float64) float64 {
	return t.from + t.scale*(sure-other.from)/other.scale
}

// What speaks, on films of native hips, whose bones are balls and bowls themselves, for
// the likeliest pair; for a cup about a ball of metal, in the femoral head on every other
// film; and for a ball of another size than the head in a shell. Printed by
//
//	go test ./measure/find -run LearnAlarms -learn 120 -v
var (
	pairByChance = tail{from: 73.2, scale: 29.7}
	cupByChance  = tail{from: 52.1, scale: 13.4}
	headByChance = tail{from: 14.6, scale: 7.9}
)

// A pair is taken where a film of a native hip shows it once in a hundred films or less.
// A ball without a cup, or a bowl without a head, is on one film in eight or less: markers
// of known size, round bones, heads of other operations (no source; tried by .ci/vary).
const (
	mostAlarms = 0.01
	oneAlone   = 1. / 8
)

// doubt returns the code of why a pair is not taken, or nothing.
func (s *search) doubt(p pair) string {
	switch {
	case oneAlone*cupByChance.chance(p.cup.sure()) > mostAlarms:
		return chanceCup
	case oneAlone*headByChance.chance(p.head.sure()) > mostAlarms:
		return chanceHead
	case pairByChance.chance(p.sure()) > mostAlarms:
		return chancePair
	case p.cup.other.sure() > p.head.sure() && s.apart(p.cup.other, p.head):
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
