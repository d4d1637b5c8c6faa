package main

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
)

// bad reports whether a film is refused, wrong or a silent error.
func (v verdict) bad() bool { return !v.measured && !v.hidden || v.wrong || v.silent }

// Telling is a level of a factor that bad films have more often than all films.
type Telling struct {
	Factor string  `json:"factor"`
	Level  string  `json:"level"`
	Bad    int     `json:"bad"`   // bad films of the level
	Films  int     `json:"films"` // films of the level
	Z      float64 `json:"z"`     // bad films above what is usual, in standard deviations
}

func (t Telling) String() string {
	return fmt.Sprintf("%s %s: %d of %d (z %.1f)", t.Factor, t.Level, t.Bad, t.Films, t.Z)
}

// leastZ is the least excess that is told; of some 150 levels a few reach it by
// chance.
const leastZ = 2

// telling returns the levels that bad films have too often, the most telling first.
func telling(all []verdict) (out []Telling) {
	for _, name := range factorNames(all) {
		levels := levelsOf(name, all)
		films, worse := map[string]int{}, map[string]int{}
		n, bad := 0.0, 0.0
		for _, v := range all {
			level, ok := levels[v.film]
			if !ok {
				continue
			}
			n++
			films[level]++
			if v.bad() {
				bad++
				worse[level]++
			}
		}
		p := bad / max(1, n)
		for _, level := range slices.Sorted(maps.Keys(films)) {
			k := float64(films[level])
			// The films of a level drawn from all without putting back.
			sd := math.Sqrt(k * p * (1 - p) * max(0, n-k) / max(1, n-1))
			z := (float64(worse[level]) - k*p) / max(1e-9, sd)
			if z >= leastZ && sd > 0 {
				out = append(out, Telling{name, level, worse[level], films[level], z})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Telling) int { return cmp.Compare(b.Z, a.Z) })
	return out
}

// factorNames returns the names of all factors in the order in which they come.
func factorNames(all []verdict) (names []string) {
	seen := map[string]bool{}
	for _, v := range all {
		for _, f := range v.film.factors {
			if !seen[f.name] {
				seen[f.name], names = true, append(names, f.name)
			}
		}
	}
	return names
}
