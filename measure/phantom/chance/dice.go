package chance

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
)

// Factor is one thing that was drawn: a level, or a number where Level is empty.
type Factor struct {
	Name  string
	Level string
	Value float64
}

// dice draws quantities by name and keeps them.
type dice struct {
	seed    uint64
	number  int
	salt    string // tells the films of a hip, and the other hip, apart
	opt     Options
	factors []Factor
}

// stream returns the random numbers of a name.
func (d *dice) stream(name string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(d.salt + "/" + name))
	return rand.New(rand.NewPCG(d.seed^h.Sum64(), uint64(d.number)))
}

func (d *dice) keep(f Factor) {
	if i := slices.IndexFunc(d.factors, func(g Factor) bool { return g.Name == f.Name }); i >= 0 {
		d.factors[i] = f
		return
	}
	d.factors = append(d.factors, f)
}

// between draws a number evenly.
func (d *dice) between(name string, low, high float64) float64 {
	v := low + (high-low)*d.stream(name).Float64()
	d.keep(Factor{Name: name, Value: v})
	return v
}

// over draws a number whose logarithm is even.
func (d *dice) over(name string, low, high float64) float64 {
	v := math.Exp(math.Log(low) + math.Log(high/low)*d.stream(name).Float64())
	d.keep(Factor{Name: name, Value: v})
	return v
}

// about draws a normal number, to 2.5 standard deviations.
func (d *dice) about(name string, mean, sd float64) float64 {
	v := mean + sd*max(-2.5, min(2.5, d.stream(name).NormFloat64()))
	d.keep(Factor{Name: name, Value: v})
	return v
}

// quiet draws a number from 0 to 1 that is no factor.
func (d *dice) quiet(name string) float64 { return d.stream(name).Float64() }

// happens draws whether something is so.
func (d *dice) happens(name string, p float64) bool {
	is := d.quiet(name) < p
	d.keep(Factor{Name: name, Level: word(is)})
	return is
}

// note keeps what follows from something drawn.
func (d *dice) note(name, level string) { d.keep(Factor{Name: name, Level: level}) }

func word(is bool) string {
	if is {
		return "yes"
	}
	return "no"
}

// oneOf draws one of some numbers.
func (d *dice) oneOf(name string, all ...float64) float64 {
	v := all[d.stream(name).IntN(len(all))]
	d.keep(Factor{Name: name, Value: v})
	return v
}

// level draws one of some words; a word may be there several times.
func level[T ~string](d *dice, name string, all ...T) T {
	v := all[d.stream(name).IntN(len(all))]
	d.keep(Factor{Name: name, Level: string(v)})
	return v
}

// style draws whether a film has a style, as far as the options leave it open.
func (d *dice) style(s Style, p float64) bool {
	is := d.quiet(string(s)) < p
	switch {
	case slices.Contains(d.opt.Only, s):
		is = true
	case slices.Contains(d.opt.Without, s) || d.opt.plain:
		is = false
	}
	d.keep(Factor{Name: string(s), Level: word(is)})
	return is
}
