package study

import (
	"fmt"
	"math"
	"slices"

	"linerwatch/wearfit"
)

// onTime lists what the time constant depends on: what each other group has it times the
// first's, covariates about their means, what each other level of a category has.
func (c *cohort) onTime() []column {
	var out []column
	o := c.options
	if o.GroupTau {
		for g := 1; g < len(c.groups); g++ {
			out = append(out, column{name: "time constant, " + c.groups[g] + " over " + c.groups[0], of: func(h hipOf) float64 { return indicator(h.group == g) }})
		}
	}
	for j, n := range o.Covariates {
		if slices.Contains(o.OnTau, n) {
			out = append(out, column{name: fmt.Sprintf("time constant, factor of one unit of %s", n), of: func(h hipOf) float64 { return h.covariates[j] - c.means[j] }})
		}
	}
	for j, n := range o.Categories {
		for l := 1; l < len(c.levels[j]) && slices.Contains(o.OnTau, n); l++ {
			out = append(out, column{name: "time constant by " + n + ", " + c.levels[j][l] + " over " + c.levels[j][0],
				of: func(h hipOf) float64 { return indicator(len(h.categories) > j && h.categories[j] == l) }})
		}
	}
	return out
}

// times are the factors of the time constant, with intervals by the normal distribution of
// their logarithms; without a value where the films do not tell the time constant.
func (s *allFilms) times() []Quantity {
	var out []Quantity
	for j, col := range s.onTau {
		q := Quantity{Model: settleModel, Name: col.name}
		if s.fit.SETau == nil {
			out = append(out, q.without(Note{Code: "settle.tau-untold"}))
			continue
		}
		e := wearfit.Estimate{Value: s.fit.LogTau[j], SE: s.fit.SETau[j], DF: math.Inf(1)}
		i := e.Interval(level)
		q.Value, q.DF, q.P, q.HasP = math.Exp(e.Value), e.DF, e.P(0), true
		out = append(out, q.within(wearfit.Interval{Lo: math.Exp(i.Lo), Hi: math.Exp(i.Hi)}).made(BySettling))
	}
	return out
}
